#include "service/clock.h"

#include <chrono>
#include <ctime>

namespace lathbook::service {
namespace {

std::string now_as(const char* form, std::tm* (*in_parts)(const std::time_t*, std::tm*)) {
  const auto now = std::chrono::system_clock::to_time_t(std::chrono::system_clock::now());
  std::tm parts{};
  in_parts(&now, &parts);
  char text[32];
  return {text, std::strftime(text, sizeof text, form, &parts)};
}

}  // namespace

std::string now_utc() { return now_as("%Y-%m-%dT%H:%M:%SZ", gmtime_r); }

std::string today_here() { return now_as("%Y-%m-%d", localtime_r); }

}  // namespace lathbook::service
