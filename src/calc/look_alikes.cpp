#include "calc/look_alikes.h"

#include <set>

#include "book/words.h"

namespace lathbook::calc {

belief::Named named(const Json& from) {
  belief::Named one{from["id"], from.value("group", ""), std::nullopt};
  if (from.contains("alike")) one.alike = book::from_word<book::Alike>(from["alike"].get_ref<const std::string&>());
  return one;
}

std::vector<belief::Named> groups_of(const Json& input) {
  std::vector<belief::Named> groups;
  std::set<std::string> known;
  for (const auto& from : input.value("groups", Json::array())) {
    groups.push_back(named(from));
    known.insert(groups.back().id);
  }
  const auto add = [&](const std::string& id) {
    if (!id.empty() && known.insert(id).second) groups.push_back({id, "", std::nullopt});
  };
  const std::size_t given = groups.size();
  for (std::size_t g = 0; g < given; ++g) add(std::string(groups[g].group));
  for (const auto& from : input["materials"]) add(from.value("group", ""));
  return groups;
}

}  // namespace lathbook::calc
