#include "http/page_files.h"

#include <fmt/format.h>
#include <sodium.h>

#include <algorithm>
#include <array>
#include <optional>

namespace lathbook::http {
namespace {

constexpr std::string_view kFolder = "web/dist/";
constexpr std::string_view kNamedByContent = "assets/";
constexpr std::string_view kGzip = ".gz";

std::string_view media_type(std::string_view name) {
  static constexpr std::pair<std::string_view, std::string_view> kTypes[] = {
      {".html", "text/html; charset=utf-8"},
      {".js", "text/javascript; charset=utf-8"},
      {".css", "text/css; charset=utf-8"},
      {".svg", "image/svg+xml"},
      {".json", "application/json"},
      {".webmanifest", "application/manifest+json"},
      {".png", "image/png"},
  };
  for (const auto& [ending, type] : kTypes) {
    if (name.ends_with(ending)) return type;
  }
  return "application/octet-stream";
}

std::string tag_of(std::string_view bytes) {
  std::array<unsigned char, crypto_generichash_BYTES_MIN> digest{};
  crypto_generichash(digest.data(), digest.size(), reinterpret_cast<const unsigned char*>(bytes.data()), bytes.size(),
                     nullptr, 0);
  std::string tag;
  for (std::size_t i = 0; i < 8; ++i) tag += fmt::format("{:02x}", digest[i]);
  return tag;
}

std::string_view trimmed(std::string_view text) {
  const auto first = text.find_first_not_of(" \t");
  if (first == std::string_view::npos) return {};
  return text.substr(first, text.find_last_not_of(" \t") - first + 1);
}

/// The part of `text` before `mark`, which is taken off `text` with the mark.
std::string_view next(std::string_view& text, char mark) {
  const auto end = std::min(text.find(mark), text.size());
  const auto part = trimmed(text.substr(0, end));
  text.remove_prefix(std::min(end + 1, text.size()));
  return part;
}

}  // namespace

std::vector<assets::Asset> page_files() {
  std::vector<assets::Asset> files;
  for (auto asset : assets::all()) {
    if (!asset.name.starts_with(kFolder)) continue;
    asset.name.remove_prefix(kFolder.size());
    files.push_back(asset);
  }
  return files;
}

bool takes_gzip(std::string_view accept_encoding) {
  std::optional<bool> by_name;
  bool by_star = false;
  while (!accept_encoding.empty()) {
    auto one = next(accept_encoding, ',');
    const auto coding = next(one, ';');
    const auto weight = trimmed(one);
    // A weight of nothing (q=0, q=0.000) refuses the coding; every other takes it.
    const bool taken = !(weight.starts_with("q=0") && weight.find_first_not_of("0.", 2) == std::string_view::npos);
    if (coding == "gzip" || coding == "x-gzip") by_name = taken;
    if (coding == "*") by_star = taken;
  }
  return by_name.value_or(by_star);
}

PageFiles::PageFiles(const std::vector<assets::Asset>& files) {
  for (const auto& asset : files) {
    if (asset.name.ends_with(kGzip)) continue;
    const auto gzip = std::find_if(files.begin(), files.end(), [&](const assets::Asset& other) {
      return other.name.size() == asset.name.size() + kGzip.size() && other.name.starts_with(asset.name) &&
             other.name.ends_with(kGzip);
    });
    files_.push_back(
        {asset.name, asset.bytes, gzip == files.end() ? std::string_view{} : gzip->bytes, tag_of(asset.bytes)});
  }
}

Response PageFiles::answer(const Request& request) const {
  std::string_view name = request.path;
  if (name.starts_with('/')) name.remove_prefix(1);
  if (request.path == "/") name = "index.html";
  const auto found = std::find_if(files_.begin(), files_.end(), [&](const File& file) { return file.name == name; });
  if (found == files_.end()) return refusal(404, "there is no such page", "/");
  const bool zipped = !found->gzip.empty() && takes_gzip(request.accept_encoding);
  const auto tag = fmt::format("\"{}{}\"", found->tag, zipped ? "-gzip" : "");
  Response response{200,
                    std::string(media_type(name)),
                    {},
                    {{"Cache-Control",
                      name.starts_with(kNamedByContent) ? "private, max-age=31536000, immutable" : "private, no-cache"},
                     {"ETag", tag}}};
  if (!found->gzip.empty()) response.headers.emplace_back("Vary", "Accept-Encoding");
  if (request.if_none_match.find(tag) != std::string::npos || request.if_none_match == "*") {
    response.status = 304;
    return response;
  }
  if (zipped) response.headers.emplace_back("Content-Encoding", "gzip");
  response.body = zipped ? found->gzip : found->bytes;
  return response;
}

}  // namespace lathbook::http
