// Small PDFs for tests: lines of text in one fixed-width typeface, as a printer would set a table.
#pragma once

#include <fmt/format.h>

#include <string>
#include <string_view>
#include <vector>

namespace lathbook::laboratory::testing {

/// A PDF of these pages, each with its lines (plain ASCII). A page without lines is blank paper.
[[nodiscard]] inline std::string pdf_of(const std::vector<std::vector<std::string>>& pages) {
  std::vector<std::string> objects = {"<< /Type /Catalog /Pages 2 0 R >>", "",
                                      "<< /Type /Font /Subtype /Type1 /BaseFont /Courier >>"};
  std::string kids;
  for (const auto& lines : pages) {
    std::string drawn;
    double y = 800;
    for (const auto& line : lines) {
      std::string escaped;
      for (const char c : line) {
        if (c == '(' || c == ')' || c == '\\') escaped += '\\';
        escaped += c;
      }
      if (!line.empty()) drawn += fmt::format("BT /F 9 Tf 40 {} Td ({}) Tj ET\n", y, escaped);
      y -= 12;
    }
    const auto page = objects.size() + 1;
    kids += fmt::format("{} 0 R ", page);
    objects.push_back(
        fmt::format("<< /Type /Page /Parent 2 0 R /MediaBox [0 0 595 842] /Contents {} 0 R "
                    "/Resources << /Font << /F 3 0 R >> >> >>",
                    page + 1));
    objects.push_back(fmt::format("<< /Length {} >>\nstream\n{}endstream", drawn.size(), drawn));
  }
  objects[1] = fmt::format("<< /Type /Pages /Kids [{}] /Count {} >>", kids, pages.size());
  std::string pdf = "%PDF-1.4\n";
  std::string table = fmt::format("xref\n0 {}\n0000000000 65535 f \n", objects.size() + 1);
  for (std::size_t i = 0; i < objects.size(); ++i) {
    table += fmt::format("{:010} 00000 n \n", pdf.size());
    pdf += fmt::format("{} 0 obj\n{}\nendobj\n", i + 1, objects[i]);
  }
  const auto at = pdf.size();
  return pdf + table +
         fmt::format("trailer\n<< /Size {} /Root 1 0 R >>\nstartxref\n{}\n%%EOF\n", objects.size() + 1, at);
}

}  // namespace lathbook::laboratory::testing
