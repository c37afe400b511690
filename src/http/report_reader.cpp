#include "http/report_reader.h"

#include <nlohmann/json.hpp>

#include "http/forms.h"
#include "laboratory/pdf_text.h"
#include "laboratory/reading.h"
#include "service/base64.h"
#include "service/report_answer.h"

namespace lathbook::http {
namespace {

using reason::Fault;
using reason::FaultKind;

/// One of the few that may be at work.
class Place {
 public:
  explicit Place(std::atomic<int>& at_work) : at_work_(at_work), number_(++at_work) {}
  ~Place() { --at_work_; }
  Place(const Place&) = delete;
  Place& operator=(const Place&) = delete;
  [[nodiscard]] int number() const { return number_; }

 private:
  std::atomic<int>& at_work_;
  int number_;
};

}  // namespace

reason::Result<std::string> ReportReader::parse(const std::string& body) {
  const auto json = read_request("POST report", body);
  if (!json.ok()) return json.faults();
  auto bytes = service::from_base64((*json)["base64"].get_ref<const std::string&>());
  if (!bytes) return Fault{"the report", "", "is not base64", "RFC 4648 base64 with padding"};
  return std::move(*bytes);
}

reason::Result<nlohmann::json> ReportReader::read(const std::string& pdf, const book::Book& book) {
  const Place place(at_work_);
  if (place.number() > kMostAtOnce)
    return Fault{"the report", "", "has to wait: others are being read", "ask again in a moment", FaultKind::kConflict};
  const auto text = laboratory::pdf_text(pdf);
  if (!text.ok()) return text.faults();
  const auto names = service::sample_names(book);
  return service::report_json(book, laboratory::read(*text, names));
}

}  // namespace lathbook::http
