#include "phone/qr.h"

#include <qrencode.h>

#include <memory>

namespace lathbook::phone {

std::vector<std::string> qr_rows(const std::string& text) {
  const std::unique_ptr<QRcode, decltype(&QRcode_free)> code(QRcode_encodeString8bit(text.c_str(), 0, QR_ECLEVEL_M),
                                                             &QRcode_free);
  if (!code) return {};
  const auto width = static_cast<std::size_t>(code->width);
  std::vector<std::string> rows(width, std::string(width, '0'));
  for (std::size_t y = 0; y < width; ++y) {
    for (std::size_t x = 0; x < width; ++x) {
      if ((code->data[y * width + x] & 1U) != 0) rows[y][x] = '1';
    }
  }
  return rows;
}

std::string qr_for_terminal(const std::vector<std::string>& rows) {
  constexpr int kQuiet = 2;
  const int size = static_cast<int>(rows.size());
  const auto dark = [&](int x, int y) {
    if (x < 0 || y < 0 || x >= size || y >= size) return false;
    return rows[static_cast<std::size_t>(y)][static_cast<std::size_t>(x)] == '1';
  };
  std::string out;
  for (int y = -kQuiet; y < size + kQuiet; y += 2) {
    out += "\033[30;107m";  // black on bright white, whatever the terminal's own colours are
    for (int x = -kQuiet; x < size + kQuiet; ++x) {
      const bool upper = dark(x, y);
      const bool lower = dark(x, y + 1);
      out += upper ? (lower ? "█" : "▀") : (lower ? "▄" : " ");
    }
    out += "\033[0m\n";
  }
  return out;
}

}  // namespace lathbook::phone
