#pragma once

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "cli/render/assemble/assemble_report.h"
#include "cli/render/board/board_report.h"
#include "cli/render/compare/compare_report.h"
#include "cli/render/diagnose/diagnosis_report.h"
#include "cli/render/diagram/diagram_picture.h"
#include "cli/render/regress/regress_report.h"
#include "cli/render/verify/report.h"
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
  bool has_fewer_copies = false;  ///< Than `tolerance` makes: there are many parts.
  /// The first board of the description, and how the circuit is built on it.
  std::optional<BoardReport> board;
  std::optional<AssembleReport> assembly;
  Meter meter;  ///< With which the sheet is to be filled in.
  std::optional<Sheet>
      sheet;  ///< What it must show; nothing where it is not asked for.
  std::vector<FileReport> variants;  ///< Judged, to be held against it.
};

/// A page of its own: HTML that needs no network and no other file, with a diagram of
/// all states, tables that can be sorted, waveforms, and the description's text. The
/// same report gives the same page. Texts of the description show as text.
[[nodiscard]] std::string page_html(const PageReport& report);

/// One circuit of a library, with the page that was written of it.
struct IndexedCircuit {
  const CircuitOutcome& outcome;
  std::string page;  ///< Its file beside the index; empty: there is none.
};

/// The page that leads to the pages of a library: what did not pass first, then by what
/// is left of the limit to which each circuit comes nearest.
class PageIndex {
 public:
  void add(const IndexedCircuit& circuit);
  [[nodiscard]] std::string html(const RegressHead& head) const;

 private:
  struct Line {
    int rank = 0;  ///< Those of a lower one come first.
    double share = 0.0;
    std::string cells;  ///< Of its row.
  };
  std::vector<Line> lines_;
};

/// What stands in the head of every page that this program writes: a file without it is
/// somebody else's.
[[nodiscard]] std::string_view page_mark();

/// Names for the pages of descriptions, one each: letters, digits, '-', '_' and '.', no
/// two alike where capitals do not count, none "index.html". The same list gives the
/// same names.
[[nodiscard]] std::vector<std::string> page_names(
    const std::vector<std::string>& files);

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
[[nodiscard]] std::string board_html(const PageReport& report);
[[nodiscard]] std::string steps_html(const PageReport& report);
[[nodiscard]] std::string readings_html(const PageReport& report);
[[nodiscard]] std::string hand_html(const PageReport& report);
[[nodiscard]] std::string variants_html(const PageReport& report);

/// A cell of a table.
struct PageCell {
  std::string text;             ///< Of a description or our own; it is escaped here.
  std::optional<double> value;  ///< Of a figure, by which its column is sorted.
  std::string link = {};        ///< Within the page; empty: none.
};

/// A page from its parts: `header` and `body` are HTML, `scripts` whole elements.
[[nodiscard]] std::string page_frame(const std::string& title,
                                     const std::string& header, const std::string& body,
                                     const std::string& scripts);

/// Lines of text as they stand, in a box that scrolls where it is wider than the page.
[[nodiscard]] std::string page_lines(const std::string& text, std::string_view label);

/// A table that can be sorted by each column, in a box of its own that scrolls where it
/// is wider than the page. `figures` has 'r' for each column of figures, else 'l'.
[[nodiscard]] std::string page_table(std::string_view caption,
                                     const std::vector<std::string>& head,
                                     std::string_view figures,
                                     const std::vector<std::vector<PageCell>>& rows);

}  // namespace benchproof
