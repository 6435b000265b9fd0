#pragma once

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "cli/render/compare_report.h"
#include "cli/render/diagram_picture.h"
#include "cli/render/report.h"
#include "core/network/record.h"
#include "core/order/shopping_list.h"
#include "core/tolerance/tolerance.h"

namespace benchproof {

/// What the voltages of some nets do in a run: straight between these points.
struct RunCourse {
  std::string run;
  std::vector<std::string> nets;
  std::vector<double> seconds;
  std::vector<std::vector<double>> volts;  ///< [net][point]
  std::size_t left_out = 0;  ///< Nets that move as well and are not shown.
};

/// The courses of the nets that a run's expectations are about, and of the first ones
/// that move otherwise, six at most. Points are left out as long as no net's line moves
/// by more than a three hundredth of its range; of very restless ones by more.
[[nodiscard]] RunCourse course_of(const Circuit& circuit, const Run& run,
                                  const Record& record);

/// All that one page shows about one description.
struct PageReport {
  FileReport file;  ///< Judged in all its states and runs.
  ShoppingList list;
  std::optional<ToleranceResult> spread;  ///< Nothing where it cannot be told.
  std::vector<RunCourse> courses;
  std::vector<FileReport> variants;  ///< Judged, to be held against it.
};

/// A page of its own: HTML that needs no network and no other file, with a diagram of
/// all states, tables that can be sorted, waveforms, and the description's text. The
/// same report gives the same page. Texts of the description show as text.
[[nodiscard]] std::string page_html(const PageReport& report);

/// One section of a page. A further section is one more of these.
struct PageSection {
  std::string id;        ///< Within the page.
  std::string title;     ///< In its list of contents and above it.
  std::string html;      ///< Empty: it is left out.
  bool is_wide = false;  ///< Printed across.
};

// The sections, each by itself.
[[nodiscard]] std::string findings_html(const PageReport& report,
                                        const DiagramPicture& picture);
[[nodiscard]] std::string diagram_html(const PageReport& report,
                                       const DiagramPicture& picture);
[[nodiscard]] std::string list_html(const PageReport& report);
[[nodiscard]] std::string voltages_html(const PageReport& report);
[[nodiscard]] std::string parts_html(const PageReport& report);
[[nodiscard]] std::string expectations_html(const PageReport& report);
[[nodiscard]] std::string courses_html(const PageReport& report);
[[nodiscard]] std::string spread_html(const PageReport& report);
[[nodiscard]] std::string margins_html(const PageReport& report);
[[nodiscard]] std::string hand_html(const PageReport& report);
[[nodiscard]] std::string variants_html(const PageReport& report);

/// A cell of a table.
struct PageCell {
  std::string text;             ///< Of a description or our own; it is escaped here.
  std::optional<double> value;  ///< Of a figure, by which its column is sorted.
  std::string link = {};        ///< Within the page; empty: none.
};

/// A table that can be sorted by each column, in a box of its own that scrolls where it
/// is wider than the page. `figures` has 'r' for each column of figures, else 'l'.
[[nodiscard]] std::string page_table(std::string_view caption,
                                     const std::vector<std::string>& head,
                                     std::string_view figures,
                                     const std::vector<std::vector<PageCell>>& rows);

}  // namespace benchproof
