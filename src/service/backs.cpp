#include "service/backs.h"

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "fabric/opening.h"
#include "fabric/spread.h"

namespace lathbook::service {
namespace {

double to_mm(double m) { return std::round(m * 1000) / 1000; }
double to_cm2(double m2) { return std::round(m2 * 10000) / 10000; }

Json ring_json(const fabric::Ring& ring) {
  Json out = Json::array();
  for (const auto& corner : ring) out.push_back({to_mm(corner.x_m), to_mm(corner.y_m)});
  return out;
}

double area_of(const std::vector<fabric::Ring>& rings) {
  double sum = 0;
  for (const auto& ring : rings) sum += std::abs(fabric::signed_area_m2(ring));
  return sum;
}

Json face_json(const fabric::Plan& plan, std::size_t index) {
  const auto& face = plan.faces()[index];
  std::vector<std::pair<double, Json>> backs;
  std::vector<fabric::Ring> covered;
  for (const auto one : face.backings) {
    const auto& backing = plan.backings()[one];
    const auto& other = plan.faces()[backing.other];
    Json where = Json::array();
    for (const auto& ring : backing.where) where.push_back(ring_json(ring));
    covered.insert(covered.end(), backing.where.begin(), backing.where.end());
    const double area_m2 = area_of(backing.where);
    backs.emplace_back(area_m2, Json{{"room", plan.spaces()[other.space].id.text},
                                     {"face", other.face.text()},
                                     {"thickness_m", to_mm(backing.thickness_m)},
                                     {"area_m2", to_cm2(area_m2)},
                                     {"where", std::move(where)}});
  }
  std::ranges::stable_sort(backs, std::greater{}, [](const auto& one) { return one.first; });
  Json list = Json::array();
  for (auto& [area_m2, one] : backs) list.push_back(std::move(one));
  const std::vector<fabric::Ring> whole(1, face.outline);
  return {{"face", face.face.text()},
          {"area_m2", to_cm2(area_of(whole))},
          {"bare_m2", to_cm2(area_of(fabric::overlay(whole, covered)))},
          {"backs", std::move(list)}};
}

}  // namespace

Json backs_json(const fabric::Plan& plan, const book::RoomId& room) {
  Json faces = Json::array();
  if (const auto index = plan.find_space(room)) {
    const auto& space = plan.spaces()[*index];
    for (std::size_t face = space.first_face; face < space.first_face + space.face_count; ++face) {
      const auto kind = plan.faces()[face].face.kind;
      if (kind == book::FaceKind::kInside || kind == book::FaceKind::kRoof) continue;
      faces.push_back(face_json(plan, face));
    }
  }
  return {{"room", room.text}, {"faces", std::move(faces)}};
}

Json openings_json(const fabric::Plan& plan) {
  Json out = Json::object();
  for (const auto& opening : plan.openings()) {
    Json on = Json::array();
    for (const auto& one : fabric::faces_of(plan, opening)) {
      const auto& face = plan.faces()[one.face];
      on.push_back({{"room", plan.spaces()[face.space].id.text},
                    {"face", face.face.text()},
                    {"outline", ring_json(one.outline)}});
    }
    out[opening.id.text] = std::move(on);
  }
  return out;
}

}  // namespace lathbook::service
