#pragma once

#include <string_view>

namespace benchproof {

// What a page holds besides its content. The files stand beside this one, but for the
// plotting library, which is that of the Debian package libjs-dygraphs.

extern const std::string_view kPageStyle;
extern const std::string_view kPageScript;
extern const std::string_view kPlotScript;
extern const std::string_view kPlotLicence;

}  // namespace benchproof
