// The files of the page inside this program, as a browser asks for them.
//
// web/compress.mjs laid a gzip copy beside each file that gains by it, so that nothing is compressed while somebody
// waits. Names below assets/ hold a hash of the content (Vite): such a file never changes and is kept for good; of any
// other the browser asks each time whether it has changed (RFC 9110 and 9111).
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "assets/assets.h"
#include "http/message.h"

namespace lathbook::http {

/// The files inside this program, named as the page names them ("assets/page-AbC.js"); none when it was built without.
[[nodiscard]] std::vector<assets::Asset> page_files();

class PageFiles {
 public:
  explicit PageFiles(const std::vector<assets::Asset>& files);

  /// The file at `request.path` ("/" is index.html), compressed if the browser takes that; 304 when it has it already,
  /// 404 when there is none. No path reaches the file system: files are found by name alone.
  [[nodiscard]] Response answer(const Request& request) const;

 private:
  struct File {
    std::string_view name;
    std::string_view bytes;
    std::string_view gzip;  ///< empty = no smaller
    std::string tag;        ///< of the content, 16 hex digits
  };
  std::vector<File> files_;
};

/// Whether an Accept-Encoding header lets an answer be compressed with gzip.
[[nodiscard]] bool takes_gzip(std::string_view accept_encoding);

}  // namespace lathbook::http
