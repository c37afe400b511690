#include "papers/fonts.h"

#include <fontconfig/fontconfig.h>

#include <system_error>

namespace lathbook::papers {

bool use_fonts_in(const std::filesystem::path& folder) {
  std::error_code error;
  if (!std::filesystem::is_directory(folder, error)) return false;
  return FcConfigAppFontAddDir(FcConfigGetCurrent(), reinterpret_cast<const FcChar8*>(folder.c_str())) == FcTrue;
}

}  // namespace lathbook::papers
