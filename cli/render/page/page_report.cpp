#include "cli/render/page/page_report.h"

#include <fmt/format.h>

#include "cli/render/diagram/diagram_svg.h"
#include "cli/render/page/assets.h"
#include "cli/render/verify/findings_text.h"
#include "cli/render/verify/text.h"
#include "cli/render/verify/verdict_text.h"
#include "core/base/diagnostic.h"

namespace benchproof {
namespace {

/// Whatever would be asked for over a network is refused by the browser itself.
constexpr std::string_view kPolicy =
    "default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'; "
    "base-uri 'none'; form-action 'none'";

std::string source_html(const PageReport& report) {
  return report.file.source.empty() ? std::string()
                                    : page_lines(report.file.source, "The description");
}

std::vector<PageSection> sections_of(const PageReport& report,
                                     const DiagramPicture& picture) {
  return {
      {"findings", "What to know before building", findings_html(report, picture)},
      {"diagram", "Circuit diagram", diagram_html(report, picture), true},
      {"variants", "Variants", variants_html(report)},
      {"shopping", "What to buy", list_html(report)},
      {"board", "The board", board_html(report)},
      {"steps", "Part by part", steps_html(report)},
      {"readings", "What a meter must show", readings_html(report)},
      {"voltages", "Voltages against ground", voltages_html(report)},
      {"parts", "Currents and powers", parts_html(report)},
      {"expectations", "Expectations", expectations_html(report)},
      {"runs", "What happens in time", courses_html(report)},
      {"spread", "Copies", spread_html(report)},
      {"margins", "How near the limits", margins_html(report)},
      {"by-hand", "By hand", hand_html(report)},
      {"description", "The description", source_html(report)},
  };
}

std::string verdict_html(const FileReport& file) {
  const Verdict verdict = verdict_of(file);
  const std::string_view look = verdict == Verdict::good      ? "good"
                                : verdict == Verdict::caution ? "caution"
                                                              : "fault";
  return fmt::format("<p class=\"verdict {}\">Verdict: {}</p>\n", look,
                     markup_text(verdict_line(file, counts_of(file))));
}

}  // namespace

std::string page_table(std::string_view caption, const std::vector<std::string>& head,
                       std::string_view figures,
                       const std::vector<std::vector<PageCell>>& rows) {
  const auto classes = [&](std::size_t column) {
    return figures[column] == 'r' ? " class=\"figure\"" : "";
  };
  std::string text = fmt::format(
      "<div class=\"scroll\" tabindex=\"0\" role=\"group\" aria-label=\"{0}\">\n"
      "<table class=\"sortable\"><caption>{0}</caption>\n<thead><tr>",
      markup_text(caption));
  for (std::size_t k = 0; k < head.size(); ++k)
    text +=
        fmt::format("<th scope=\"col\"{}>{}</th>", classes(k), markup_text(head[k]));
  text += "</tr></thead>\n<tbody>\n";
  for (const std::vector<PageCell>& row : rows) {
    text += "<tr>";
    for (std::size_t k = 0; k < row.size(); ++k) {
      const PageCell& cell = row[k];
      std::string inner = markup_text(cell.text);
      if (!cell.link.empty())
        inner = fmt::format("<a href=\"#{}\">{}</a>", cell.link, inner);
      const std::string value =
          cell.value ? fmt::format(" data-value=\"{:.9g}\"", *cell.value) : "";
      text += k == 0 ? fmt::format("<th scope=\"row\"{}>{}</th>", value, inner)
                     : fmt::format("<td{}{}>{}</td>", classes(k), value, inner);
    }
    text += "</tr>\n";
  }
  return text + "</tbody></table></div>\n";
}

std::string page_lines(const std::string& text, std::string_view label) {
  std::string html;
  std::size_t from = 0;
  while (from < text.size()) {  // Line by line: `printable` shows line feeds.
    const std::size_t end = std::min(text.find('\n', from), text.size());
    html += markup_text(text.substr(from, end - from)) + "\n";
    from = end + 1;
  }
  return fmt::format("<pre tabindex=\"0\" role=\"group\" aria-label=\"{}\">{}</pre>\n",
                     markup_text(label), html);
}

std::string_view page_mark() {
  return "<meta name=\"generator\" content=\"benchproof\">";
}

std::string page_frame(const std::string& title, const std::string& header,
                       const std::string& body, const std::string& scripts) {
  return fmt::format(
      "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n{}\n"
      "<meta http-equiv=\"Content-Security-Policy\" content=\"{}\">\n"
      "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
      "<title>{}</title>\n\n<style>\n{}</style>\n"
      "</head>\n<body>\n<header>\n{}"
      "<p class=\"tools\"><button type=\"button\" id=\"scheme\">Light or dark</button>"
      "</p>\n</header>\n{}<footer>\n<p>{}</p>\n</footer>\n{}<script>\n{}</script>\n"
      "</body>\n</html>\n",
      page_mark(), kPolicy, markup_text(title), kPageStyle, header, body,
      markup_text(safety_text().substr(0, safety_text().size() - 1)), scripts,
      kPageScript);
}

std::string page_html(const PageReport& report) {
  const Circuit& circuit = *report.file.circuit;
  const DiagramPicture picture = picture_of(report.file);
  const std::vector<PageSection> sections = sections_of(report, picture);
  const std::string header = fmt::format(
      "<h1>{}</h1>\n<p class=\"soft\">{}</p>\n{}", markup_text(circuit.title),
      markup_text(version_name(report.file)), verdict_html(report.file));
  std::string body = "<nav aria-label=\"Contents\"><ul>\n";
  for (const PageSection& section : sections)
    if (!section.html.empty())
      body +=
          fmt::format("<li><a href=\"#{}\">{}</a></li>\n", section.id, section.title);
  body += "</ul></nav>\n<main>\n";
  for (const PageSection& section : sections)
    if (!section.html.empty())
      body += fmt::format(
          "<section{} aria-labelledby=\"{}\">\n<h2 id=\"{}\">{}</h2>\n{}</section>\n",
          section.is_wide ? " class=\"wide\"" : "", section.id, section.id,
          section.title, section.html);
  body += "</main>\n";
  const std::string plots = report.courses.empty()
                                ? std::string()
                                : fmt::format("<!--\n{}-->\n<script>{}</script>\n",
                                              kPlotLicence, kPlotScript);
  return page_frame(circuit.title, header, body, plots);
}

}  // namespace benchproof
