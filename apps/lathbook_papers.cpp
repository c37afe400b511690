// Makes the papers for `lathbook papers`. A program of its own, so that no other command has to load Cairo and Pango.
#include <exception>
#include <filesystem>
#include <iostream>
#include <string>
#include <system_error>
#include <vector>

#include "failed.h"
#include "papers/fonts.h"
#include "press/press.h"

int main(int argc, char** argv) {
  try {
    // The portable tarball brings the fonts along (packaging/CMakeLists.txt); elsewhere there is no such folder.
    std::error_code error;
    const auto self = std::filesystem::read_symlink("/proc/self/exe", error);
    lathbook::papers::use_fonts_in(self.parent_path() / "../../share/lathbook/fonts");

    const auto order = lathbook::press::read_order(std::vector<std::string>(argv + 1, argv + argc));
    if (!order.ok()) return lathbook::apps::failed(order.faults());
    const auto written = lathbook::press::print(*order, std::cerr);
    if (!written.ok()) return lathbook::apps::failed(written.faults());
    for (const auto& file : *written) std::cout << file.path.string() << "\n";
    std::cout.flush();
    return std::cout ? 0 : 1;
  } catch (const std::exception& broken) {
    std::cerr << "lathbook: a fault of the program itself, not yours: " << broken.what() << "\n";
    return 1;
  }
}
