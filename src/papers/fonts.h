// Fonts that come with the program rather than with the system: those of the portable tarball.
#pragma once

#include <filesystem>

namespace lathbook::papers {

/// Lets papers use the font files in `folder` beside the system's own, in this process from now on. Call it before the
/// first paper. False when there is no such folder or fontconfig refuses it: then only the system's fonts are there,
/// and Sheet::pdf says which of its two are missing.
bool use_fonts_in(const std::filesystem::path& folder);

}  // namespace lathbook::papers
