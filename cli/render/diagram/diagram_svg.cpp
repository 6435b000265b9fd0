#include "cli/render/diagram/diagram_svg.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <string_view>
#include <vector>

#include "cli/render/diagram/svg_symbols.h"
#include "core/base/diagnostic.h"
#include "core/catalogue/kind.h"

namespace benchproof {
namespace {

constexpr std::string_view kStyle = R"(
.diagram { font: 12px "DejaVu Sans", Verdana, Arial, sans-serif; color: #000; }
.diagram line, .diagram path, .diagram circle, .diagram rect
  { fill: none; stroke: currentColor; stroke-width: 1.4; }
.diagram .bar { stroke-width: 2.2; }
.diagram .full { fill: currentColor; }
.diagram .ground { fill: #fff; }
.diagram text { fill: currentColor; stroke: none; }
.diagram .name { font-weight: bold; }
.diagram .small { font-size: 9px; }
.diagram .title { font-size: 16px; font-weight: bold; }
.diagram .inverse { fill: #fff; font-weight: bold; }
)";

/// A coordinate: to a tenth, without needless zeros.
std::string at(double value) {
  std::string text = fmt::format("{:.1f}", value);
  if (text.ends_with(".0")) text.resize(text.size() - 2);
  return text == "-0" ? "0" : text;
}

std::string text_at(double x, double y, std::string_view text,
                    std::string_view classes = {}) {
  return fmt::format("<text x=\"{}\" y=\"{}\"{}>{}</text>\n", at(x), at(y),
                     classes.empty() ? "" : fmt::format(" class=\"{}\"", classes),
                     markup_text(text));
}

/// "a:120,80 b:120,140", open pins left out.
std::string pins_data(const Part& part, const Symbol& symbol) {
  std::string data;
  for (std::size_t pin = 0; pin < part.pins.size(); ++pin) {
    if (part.nets[pin] < 0) continue;
    data += fmt::format("{}{}:{},{}", data.empty() ? "" : " ", part.pins[pin],
                        at(symbol.pins[pin].x), at(symbol.pins[pin].y));
  }
  return data;
}

/// What a pointer on a part, or a screen reader, is told.
std::string part_title(const Part& part, const PartWords& words) {
  std::string text = part.name;
  if (!part.label.empty()) text += fmt::format(" ({})", part.label);
  text += fmt::format(": {}", kind(part.kind).name);
  if (!words.value.empty()) text += " " + words.value;
  return text;
}

/// A pin that is joined to nothing ends in a small ring.
std::string open_ends(const Part& part, const Symbol& symbol) {
  std::string text;
  for (std::size_t pin = 0; pin < part.pins.size(); ++pin)
    if (part.nets[pin] < 0)
      text += fmt::format("<circle cx=\"{}\" cy=\"{}\" r=\"3\"/>\n",
                          at(symbol.pins[pin].x), at(symbol.pins[pin].y));
  return text;
}

std::string block_text(const Part& part, const Symbol& symbol) {
  const Box& body = symbol.body;
  std::string text = fmt::format(
      "<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\"/>\n", at(body.left),
      at(body.top), at(body.right - body.left), at(body.bottom - body.top));
  for (std::size_t pin = 0; pin < part.pins.size(); ++pin) {
    const Point& end = symbol.pins[pin];
    const bool is_left = end.x < body.left;
    const bool is_right = end.x > body.right;
    const double x = is_left ? body.left : is_right ? body.right : end.x;
    const double y = is_left || is_right      ? end.y
                     : end.y < body.top + 1.0 ? body.top
                                              : body.bottom;
    text += fmt::format("<line x1=\"{}\" y1=\"{}\" x2=\"{}\" y2=\"{}\"/>\n", at(end.x),
                        at(end.y), at(x), at(y));
    if (is_left)
      text += text_at(x + 5.0, y + 4.0, part.pins[pin]);
    else if (is_right)
      text += fmt::format("<text x=\"{}\" y=\"{}\" text-anchor=\"end\">{}</text>\n",
                          at(x - 5.0), at(y + 4.0), part.pins[pin]);
    else
      text += text_at(x + 5.0, end.y < body.top + 1.0 ? y + 12.0 : y - 4.0,
                      part.pins[pin], "small");
  }
  return text;
}

std::string symbol_text(const Part& part, const Symbol& symbol) {
  if (part.kind == KindId::controller) return block_text(part, symbol);
  double side = 0.0;
  if (const int pin = main_pins(part).side; pin >= 0)
    side = std::abs(symbol.pins[pin].x - symbol.at.x);
  return fmt::format("<g transform=\"translate({} {}) scale({} {})\">{}</g>\n",
                     at(symbol.at.x), at(symbol.at.y), symbol.is_mirrored ? -1 : 1,
                     symbol.is_flipped ? -1 : 1, symbol_shape(part, side)) +
         letters_of(part, symbol);
}

/// The arrow of a current, its tip at the lower or upper end.
std::string arrow_text(double x, double y, int direction) {
  const double tip = direction > 0 ? y + 4.0 : y - 4.0;
  const double tail = direction > 0 ? y - 4.0 : y + 4.0;
  return fmt::format("<path class=\"full\" d=\"M{} {}L{} {}L{} {}Z\"/>\n", at(x),
                     at(tip), at(x - 4.0), at(tail), at(x + 4.0), at(tail));
}

std::string mark_text(const Point& point, const NumberedFinding& finding,
                      bool is_linked) {
  const bool is_fault = finding.severity == Severity::fault;
  std::string text = fmt::format(
      "<circle class=\"{}\" cx=\"{}\" cy=\"{}\" r=\"8\"/>"
      "<text class=\"{}\" x=\"{}\" y=\"{}\" text-anchor=\"middle\">{}"
      "</text>",
      is_fault ? "full" : "ground", at(point.x), at(point.y),
      is_fault ? "inverse" : "caution", at(point.x), at(point.y + 4.0), finding.number);
  if (is_linked)
    text = fmt::format("<a href=\"#finding-{}\" aria-label=\"{} {}: {}\">{}</a>",
                       finding.number, severity_word(finding.severity), finding.number,
                       markup_text(finding.words), text);
  return text + "\n";
}

/// Writes one picture, in a file of its own or in a page.
class Writer {
 public:
  Writer(const FileReport& report, const DiagramPicture& picture, bool is_in_page)
      : circuit_(*report.circuit), picture_(picture), is_in_page_(is_in_page) {}

  [[nodiscard]] std::string wires() const {
    std::string text = "<g class=\"wires\">\n";
    for (const Wire& wire : picture_.diagram.wires)
      text += fmt::format(
          "<line{} data-net=\"{}\" x1=\"{}\" y1=\"{}\" x2=\"{}\" y2=\"{}\"/>\n",
          wire.from.y == wire.to.y ? " class=\"bar\"" : "",
          circuit_.nets[wire.net].name, at(wire.from.x), at(wire.from.y), at(wire.to.x),
          at(wire.to.y));
    for (const Dot& dot : picture_.diagram.dots)
      text += fmt::format("<circle class=\"full\" cx=\"{}\" cy=\"{}\" r=\"2.6\"/>\n",
                          at(dot.at.x), at(dot.at.y));
    return text + "</g>\n";
  }

  [[nodiscard]] std::string parts(bool has_states) const {
    std::string text;
    for (const Symbol& symbol : picture_.diagram.symbols) {
      const Part& part = circuit_.parts[symbol.part];
      const PartWords& words = picture_.parts[symbol.part];
      text += fmt::format(
          "<g{} data-part=\"{}\" data-pins=\"{}\"><title>{}</title>\n{}{}",
          is_in_page_ ? fmt::format(" id=\"part-{}\" tabindex=\"-1\"", part.name) : "",
          part.name, pins_data(part, symbol), markup_text(part_title(part, words)),
          symbol_text(part, symbol), open_ends(part, symbol));
      if (!has_states && part.kind == KindId::switch_)
        text += lever_text(symbol, false);
      text +=
          text_at(symbol.words.left, line_y(symbol, 0, has_states), words.name, "name");
      if (!words.value.empty())
        text += text_at(symbol.words.left, line_y(symbol, 1, has_states), words.value);
      text += "</g>\n";
    }
    return text;
  }

  [[nodiscard]] std::string labels() const {
    std::string text;
    for (const NetLabel& label : picture_.diagram.labels)
      text += text_at(label.words.left, label.words.bottom - 3.0,
                      circuit_.nets[label.net].name);
    return text;
  }

  [[nodiscard]] std::string state(const StateWords& state) const {
    std::string text;
    for (const Symbol& symbol : picture_.diagram.symbols) {
      const Part& part = circuit_.parts[symbol.part];
      if (!state.is_known) continue;
      const PartInState& shown = state.parts[symbol.part];
      const double y = line_y(symbol, 2, true);
      if (shown.direction != 0)
        text += arrow_text(symbol.words.left + 5.0, y - 4.0, shown.direction);
      text += text_at(symbol.words.left + (shown.direction != 0 ? 13.0 : 0.0), y,
                      shown.current);
      if (part.kind == KindId::switch_) text += lever_text(symbol, shown.is_closed);
      if (shown.is_lit.value_or(false)) text += light_text(part, symbol);
    }
    for (const NetLabel& label : picture_.diagram.labels)
      if (state.is_known)
        text += text_at(label.words.left +
                            std::ceil(text_width(circuit_.nets[label.net].name + " ")),
                        label.words.bottom - 3.0, state.volts[label.net]);
    return text + marks(state);
  }

 private:
  /// Where a line of words beside a symbol stands; without states there are two.
  [[nodiscard]] double line_y(const Symbol& symbol, int line, bool has_states) const {
    const bool is_block = circuit_.parts[symbol.part].kind == KindId::controller;
    const double down = has_states || is_block ? 11.0 : 18.0;
    return symbol.words.top + down + kLineHeight * line;
  }

  [[nodiscard]] std::string marks(const StateWords& state) const {
    std::string text;
    std::vector<std::size_t> at_part(circuit_.parts.size(), 0);
    for (const NumberedFinding& finding : state.findings) {
      for (const int part : finding.parts) {
        const std::size_t before = at_part[part]++;
        if (before >= kMostMarks) continue;
        const Point point = mark_at(picture_.diagram.symbols[part].mark, before);
        text += mark_text(point, finding, is_in_page_);
      }
      for (const int net : finding.nets)
        for (const NetLabel& label : picture_.diagram.labels)
          if (label.net == net)
            text += mark_text(
                {label.words.right - 9.0, (label.words.top + label.words.bottom) / 2.0},
                finding, is_in_page_);
    }
    return text;
  }

  const Circuit& circuit_;
  const DiagramPicture& picture_;
  bool is_in_page_;
};

/// A text broken at blanks into lines of at most that width.
std::vector<std::string> lines_within(std::string_view text, double width) {
  std::vector<std::string> lines(1);
  std::size_t from = 0;
  while (from < text.size()) {
    const std::size_t end = std::min(text.find(' ', from), text.size());
    const std::string word(text.substr(from, end - from));
    std::string& line = lines.back();
    const std::string longer = line.empty() ? word : line + " " + word;
    if (!line.empty() && text_width(longer) > width)
      lines.push_back(word);
    else
      line = longer;
    from = end + 1;
  }
  return lines;
}

/// What the numbers mean, below the diagram. Returns the text and its height.
std::pair<std::string, double> legend(const StateWords& state, double top,
                                      double width) {
  std::string text;
  double y = top;
  for (const NumberedFinding& finding : state.findings) {
    text += mark_text({24.0, y - 4.0}, finding, false);
    const std::string words = fmt::format(
        "{}: {} [{}]", severity_word(finding.severity), finding.words, finding.check);
    for (const std::string& line : lines_within(words, width - 60.0)) {
      text += text_at(40.0, y, line);
      y += 16.0;
    }
    y += 4.0;
  }
  return {text, y - top};
}

std::string opening(double width, double height, std::string_view label) {
  return fmt::format(
      "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"diagram\" role=\"img\" "
      "viewBox=\"0 0 {0} {1}\" width=\"{0}\" height=\"{1}\" aria-label=\"{2}\">\n",
      at(std::ceil(width)), at(std::ceil(height)), markup_text(label));
}

}  // namespace

std::string markup_text(std::string_view text) {
  std::string escaped;
  for (const char c : printable(text)) {
    switch (c) {
      case '&':
        escaped += "&amp;";
        break;
      case '<':
        escaped += "&lt;";
        break;
      case '>':
        escaped += "&gt;";
        break;
      case '"':
        escaped += "&quot;";
        break;
      case '\'':
        escaped += "&#39;";
        break;
      default:
        escaped += c;
    }
  }
  return escaped;
}

std::string diagram_file(const FileReport& report, const DiagramPicture& picture,
                         std::optional<std::size_t> state) {
  const Circuit& circuit = *report.circuit;
  const Writer writer(report, picture, false);
  const StateWords* shown = state ? &picture.states.at(*state) : nullptr;
  constexpr double kTop = 34.0;
  std::string title = circuit.title;
  if (!circuit.variant.empty()) title += ", variant " + circuit.variant;
  if (shown != nullptr) title += ", state " + shown->name;
  const double width =
      std::max({picture.diagram.width, text_width(title) * 1.45 + 28.0,
                shown != nullptr && !shown->findings.empty() ? 480.0 : 0.0});
  double height = kTop + picture.diagram.height;
  std::string below;
  if (shown != nullptr) {
    if (!shown->is_known) {
      below = text_at(14.0, height + 12.0,
                      "The witnesses have no answer here: no figures are shown.");
      height += 24.0;
    }
    const auto [text, tall] = legend(*shown, height + 14.0, width);
    below += text;
    height += tall > 0.0 ? tall + 14.0 : 0.0;
  }
  std::string svg = opening(width, height, "Circuit diagram: " + title);
  svg += fmt::format("<style>{}</style>\n", kStyle);
  svg += fmt::format(
      "<rect class=\"ground\" style=\"stroke: none\" width=\"{}\" "
      "height=\"{}\"/>\n",
      at(std::ceil(width)), at(std::ceil(height)));
  svg += text_at(14.0, 26.0, title, "title");
  svg += fmt::format("<g transform=\"translate(0 {})\">\n", at(kTop));
  svg += writer.wires() + writer.parts(shown != nullptr) + writer.labels();
  if (shown != nullptr) svg += writer.state(*shown);
  return svg + "</g>\n" + below + "</svg>\n";
}

std::string diagram_in_page(const FileReport& report, const DiagramPicture& picture) {
  const Writer writer(report, picture, true);
  std::string svg = opening(picture.diagram.width, picture.diagram.height,
                            "Circuit diagram: " + report.circuit->title);
  // Links and words within are read one by one.
  const std::size_t role = svg.find("role=\"img\"");
  svg.replace(role, 10, "role=\"group\"");
  svg += writer.wires() + writer.parts(!picture.states.empty()) + writer.labels();
  for (std::size_t k = 0; k < picture.states.size(); ++k)
    svg += fmt::format("<g class=\"in-state{}\" data-state=\"{}\">\n{}</g>\n",
                       k == 0 ? "" : " off", k, writer.state(picture.states[k]));
  return svg + "</svg>\n";
}

}  // namespace benchproof
