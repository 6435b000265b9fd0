#pragma once

#include <cstddef>
#include <optional>
#include <string>

#include "cli/render/diagram/diagram_picture.h"

namespace benchproof {

/// A diagram as an SVG file of its own: the circuit alone, or with `state` (an index of
/// the picture's states) voltages, currents, what is lit, and findings as numbers that
/// a list below explains. Black on white. The same input gives the same text.
///
/// Each part is a group with `data-part` and `data-pins` ("a:120,80 b:120,140"), each
/// stretch of wire a line with `data-net`, so that the circuit can be read back.
[[nodiscard]] std::string diagram_file(const FileReport& report,
                                       const DiagramPicture& picture,
                                       std::optional<std::size_t> state);

/// The same within an HTML page: all states at once, each in a group of the class
/// "in-state" with `data-state`, of which the page shows one; numbers of findings are
/// links to "#finding-N". Colours are the page's.
[[nodiscard]] std::string diagram_in_page(const FileReport& report,
                                          const DiagramPicture& picture);

/// A text with what markup would obey escaped, and what a screen would obey or hide
/// shown.
[[nodiscard]] std::string markup_text(std::string_view text);

}  // namespace benchproof
