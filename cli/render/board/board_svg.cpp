#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <iterator>
#include <map>
#include <set>
#include <string>
#include <string_view>
#include <vector>

#include "cli/render/board/board_report.h"
#include "core/base/diagnostic.h"
#include "core/board/places/islands.h"

namespace benchproof {
namespace {

// Eight colours that people with any usual colour blindness tell apart (M. Okabe,
// K. Ito, "Color Universal Design", 2008); black last, yellow is too faint for lines.
constexpr std::array<std::string_view, 7> kColours = {
    "#0072B2", "#D55E00", "#009E73", "#CC79A7", "#56B4E9", "#E69F00", "#000000"};
// Line styles, in millimetres of line and gap: nets of one colour differ by them.
constexpr std::array<std::string_view, 5> kStyles = {"", "1.6 0.6", "0.5 0.5",
                                                     "1.6 0.5 0.4 0.5", "2.6 0.9"};
constexpr double kMargin = 8.0;  // Around a side, with the numbers. Millimetre.
constexpr double kHead = 7.0;    // Above each side. Millimetre.
constexpr double kMilli = 1e3;

std::string escaped(std::string_view text) {
  std::string result;
  for (const char c : printable(text)) {
    if (c == '&')
      result += "&amp;";
    else if (c == '<')
      result += "&lt;";
    else if (c == '>')
      result += "&gt;";
    else if (c == '"')
      result += "&quot;";
    else
      result += c;
  }
  return result;
}

std::string number(double value) {
  std::string text = fmt::format("{:.2f}", value);
  while (text.ends_with('0')) text.pop_back();
  if (text.ends_with('.')) text.pop_back();
  return text == "-0" ? "0" : text;
}

/// A wire that starts on the board, from a pin of a part beside it.
struct WireStart {
  Hole hole;
  std::string pin;  ///< "jack.plus"
};

/// All of them, row by row from the north.
std::vector<WireStart> wire_starts(const BoardReport& report) {
  std::vector<WireStart> wires;
  for (const Footprint& foot : report.proof.feet) {
    if (!foot.is_off && foot.body) continue;
    const Part& part = report.file.circuit->parts[static_cast<std::size_t>(foot.part)];
    for (std::size_t lead = 0; lead < foot.lead_holes.size(); ++lead)
      if (foot.has_hole[lead] && foot.pin_of_lead[lead] >= 0)
        wires.push_back(
            {foot.lead_holes[lead],
             part.name + "." +
                 part.pins[static_cast<std::size_t>(foot.pin_of_lead[lead])]});
  }
  std::stable_sort(
      wires.begin(), wires.end(),
      [](const WireStart& a, const WireStart& b) { return a.hole < b.hole; });
  return wires;
}

constexpr double kColumnWide = 32.0;  // Of lists. Millimetre.
constexpr double kLineDeep = 3.2;

int columns_of_lists(double width) {
  return std::max(1, static_cast<int>((width - 2 * kMargin) / kColumnWide));
}

/// How deep a list gets. Millimetre.
double list_depth(std::size_t count, double width) {
  const auto columns = static_cast<std::size_t>(columns_of_lists(width));
  return static_cast<double>((count + columns - 1) / columns) * kLineDeep;
}

/// "1 jack.plus, L2" ...: what the numbers on the parts' side stand for.
std::string wire_list(const BoardReport& report, double top, double width) {
  std::string text;
  const std::vector<WireStart> wires = wire_starts(report);
  const auto columns = static_cast<std::size_t>(columns_of_lists(width));
  for (std::size_t k = 0; k < wires.size(); ++k) {
    const double x = kMargin + static_cast<double>(k % columns) * kColumnWide;
    const double y = top + static_cast<double>(k / columns) * kLineDeep;
    const auto put = [&](double at, std::string_view anchor, std::string_view what) {
      text += fmt::format(
          "<text x=\"{}\" y=\"{}\" font-size=\"2\" text-anchor=\"{}\">{}</text>\n",
          number(at), number(y), anchor, escaped(what));
    };
    put(x + 2.5, "end", std::to_string(k + 1));
    put(x + 8.0, "end", hole_name(report.board, wires[k].hole));
    put(x + 9.0, "start", wires[k].pin);
  }
  return text;
}

/// Draws one side. Places are in millimetres from the board's corner.
class SideDrawing {
 public:
  SideDrawing(const BoardReport& report, double top, bool is_copper, HoleMarks marks)
      : report_(report),
        board_(report.board),
        top_(top),
        is_copper_(is_copper),
        marks_(marks),
        width_(board_.columns * kPitch * kMilli),
        depth_(pitches_deep(board_) * kPitch * kMilli) {}

  std::string draw() {
    begin();
    rulers();
    copper();
    if (!is_copper_) {
      joins(false);
      bodies();
      leads();
      names();
    } else {
      joins(true);
      leads();
      net_names();
    }
    return std::move(text_);
  }

 private:
  [[nodiscard]] double x(Point p) const {
    const double inside = p.x * kMilli + kPitch * kMilli / 2;
    return kMargin + (is_copper_ ? width_ - inside : inside);
  }
  [[nodiscard]] double y(Point p) const {
    return top_ + p.y * kMilli + kPitch * kMilli / 2;
  }
  [[nodiscard]] double x(Hole h) const { return x(point_of(board_, h)); }
  [[nodiscard]] double y(Hole h) const { return y(point_of(board_, h)); }

  void words(double at_x, double at_y, double size, std::string_view anchor,
             std::string_view what, std::string_view extra = "") {
    text_ += fmt::format(
        "<text x=\"{}\" y=\"{}\" font-size=\"{}\" text-anchor=\"{}\"{}>{}</text>\n",
        number(at_x), number(at_y), number(size), anchor, extra, escaped(what));
  }

  void begin() {
    words(kMargin, top_ - 4.2, 3.0, "start",
          is_copper_ ? "Copper side, turned over" : "Parts' side");
    text_ += fmt::format(
        "<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" fill=\"#FFFFFF\" "
        "stroke=\"#000000\" stroke-width=\"0.2\"/>\n",
        number(kMargin), number(top_), number(width_), number(depth_));
  }

  void rulers() {
    for (int column = 0; column < board_.columns; ++column) {
      const int n = column + 1;
      if (n != 1 && n % 5 != 0) continue;
      words(x(Hole{0, column}), top_ - 0.8, 1.7, "middle", std::to_string(n));
    }
    for (int row = -2; row < board_.rows + 2; ++row) {
      if (!has_hole(board_, {row, 0})) continue;
      std::string name = hole_name(board_, {row, 0});
      while (name.back() >= '0' && name.back() <= '9') name.pop_back();
      words(kMargin - 1.0, y(Hole{row, 0}) + 0.6, 1.7, "end", name);
    }
  }

  void copper() {
    std::set<Hole> cuts;
    for (const Cut& cut : board_.cuts) cuts.insert(cut.hole);
    if (is_copper_) {
      // Strips and groups as broad pale lines.
      for (const Link& link : links_of(board_))
        if (link.join < 0)
          text_ += fmt::format(
              "<line x1=\"{}\" y1=\"{}\" x2=\"{}\" y2=\"{}\" stroke=\"#DDDDDD\" "
              "stroke-width=\"2\" stroke-linecap=\"round\"/>\n",
              number(x(link.from)), number(y(link.from)), number(x(link.to)),
              number(y(link.to)));
    }
    std::string dots;
    for (const Hole hole : holes_of(board_)) {
      if (cuts.contains(hole)) {
        const double r = 1.0;
        text_ += fmt::format(
            "<path d=\"M{0} {1}L{2} {3}M{0} {3}L{2} {1}\" stroke=\"#000000\" "
            "stroke-width=\"0.35\" fill=\"none\"/>\n",
            number(x(hole) - r), number(y(hole) - r), number(x(hole) + r),
            number(y(hole) + r));
        continue;
      }
      if (marks_ == HoleMarks::dots) {
        dots += fmt::format("M{} {}h0", number(x(hole)), number(y(hole)));
        continue;
      }
      if (is_copper_)
        text_ += fmt::format(
            "<circle cx=\"{}\" cy=\"{}\" r=\"0.9\" fill=\"#FFFFFF\" stroke=\"#999999\" "
            "stroke-width=\"0.15\"/>\n",
            number(x(hole)), number(y(hole)));
      text_ += fmt::format(
          "<circle cx=\"{}\" cy=\"{}\" r=\"0.3\" fill=\"none\" stroke=\"#999999\" "
          "stroke-width=\"0.1\"/>\n",
          number(x(hole)), number(y(hole)));
    }
    if (dots.empty()) return;
    if (is_copper_)
      text_ += fmt::format(
          "<path class=\"rim\" d=\"{0}\"/>\n<path class=\"pad\" d=\"{0}\"/>\n", dots);
    text_ += fmt::format("<path class=\"hole\" d=\"{}\"/>\n", dots);
  }

  [[nodiscard]] std::string net_style(int net) const {
    const auto n = static_cast<std::size_t>(std::max(net, 0));
    std::string style = fmt::format("stroke=\"{}\"", kColours[n % kColours.size()]);
    const auto dash = kStyles[(n / kColours.size() + n) % kStyles.size()];
    if (!dash.empty()) style += fmt::format(" stroke-dasharray=\"{}\"", dash);
    return style;
  }

  std::map<int, int> net_of_root(const Islands& islands) const {
    std::map<int, int> nets;
    for (const BoardIsland& island : report_.proof.islands)
      for (const Hole hole : island.holes) nets.emplace(islands.root(hole), island.net);
    return nets;
  }

  void joins(bool below) {
    const Islands islands = islands_of(board_);
    const auto nets = net_of_root(islands);
    for (const Join& join : board_.joins) {
      const bool is_below =
          join.kind == JoinKind::bridge ||
          (join.kind == JoinKind::wire && board_.kind != BoardKind::groups);
      if (is_below != below) continue;
      const auto net = nets.find(islands.root(join.from));
      const double thick = join.kind == JoinKind::bridge ? 1.3 : 0.5;
      const std::string line =
          fmt::format("x1=\"{}\" y1=\"{}\" x2=\"{}\" y2=\"{}\"", number(x(join.from)),
                      number(y(join.from)), number(x(join.to)), number(y(join.to)));
      text_ += fmt::format(
          "<line {} {} stroke-width=\"{}\" fill=\"none\"{}><title>{} {} to {}{}"
          "</title></line>\n",
          line, net_style(net == nets.end() ? -1 : net->second), number(thick),
          join.kind == JoinKind::bridge ? " stroke-opacity=\"0.75\"" : "",
          join_word(join.kind), hole_name(board_, join.from),
          hole_name(board_, join.to),
          net == nets.end()
              ? ""
              : ", " + escaped(report_.file.circuit
                                   ->nets[static_cast<std::size_t>(net->second)]
                                   .name));
      if (join.kind != JoinKind::bridge)
        for (const Hole end : {join.from, join.to})
          text_ += fmt::format("<circle cx=\"{}\" cy=\"{}\" r=\"0.35\"/>\n",
                               number(x(end)), number(y(end)));
    }
  }

  void bodies() {
    for (const Footprint& foot : report_.proof.feet) {
      if (!foot.body) continue;
      const std::string style =
          "fill=\"#FFFFFF\" fill-opacity=\"0.7\" stroke=\"#000000\" "
          "stroke-width=\"0.25\"";
      if (foot.body->corners.empty()) {
        text_ += fmt::format("<circle cx=\"{}\" cy=\"{}\" r=\"{}\" {}/>\n",
                             number(x(foot.body->centre)), number(y(foot.body->centre)),
                             number(foot.body->radius * kMilli), style);
      } else {
        std::string points;
        for (const Point& corner : foot.body->corners)
          points += fmt::format("{}{},{}", points.empty() ? "" : " ", number(x(corner)),
                                number(y(corner)));
        text_ += fmt::format("<polygon points=\"{}\" {}/>\n", points, style);
      }
      lead_lines(foot);
      mark(foot);
    }
  }

  /// From holes to the body of an axial part.
  void lead_lines(const Footprint& foot) {
    if (foot.shape->form != ShapeForm::axial) return;
    if (foot.is_standing) {
      line(x(foot.lead_holes[0]), y(foot.lead_holes[0]), x(foot.lead_holes[1]),
           y(foot.lead_holes[1]));
      return;
    }
    const Point c = foot.body->centre;
    const Point a = point_of(board_, foot.lead_holes[0]);
    const Point b = point_of(board_, foot.lead_holes[1]);
    const double far = std::hypot(b.x - a.x, b.y - a.y);
    const double half = foot.shape->size("length") / 2;
    const Point by = {(b.x - a.x) / far * half, (b.y - a.y) / far * half};
    line(x(a), y(a), x(Point{c.x - by.x, c.y - by.y}),
         y(Point{c.x - by.x, c.y - by.y}));
    line(x(b), y(b), x(Point{c.x + by.x, c.y + by.y}),
         y(Point{c.x + by.x, c.y + by.y}));
  }

  void line(double x1, double y1, double x2, double y2, double thick = 0.3) {
    text_ += fmt::format(
        "<line x1=\"{}\" y1=\"{}\" x2=\"{}\" y2=\"{}\" stroke=\"#000000\" "
        "stroke-width=\"{}\"/>\n",
        number(x1), number(y1), number(x2), number(y2), number(thick));
  }

  /// What shows how a part stands: band, stripe, flat, notch, front.
  void mark(const Footprint& foot) {
    const Part& part = part_of(foot);
    if (!foot.faces || (!is_polarised(part) && foot.shape->leads < 3)) return;
    constexpr std::array<Point, 4> kSteps = {{{0, -1}, {1, 0}, {0, 1}, {-1, 0}}};
    const Point to = kSteps[static_cast<std::size_t>(*foot.faces)];
    const Point aside = {-to.y, to.x};
    const Bounds around = bounds(*foot.body);
    const Point c = foot.body->centre;
    const double far = (to.x != 0.0 ? around.most.x - around.least.x
                                    : around.most.y - around.least.y) /
                       2;
    const double wide = (to.x != 0.0 ? around.most.y - around.least.y
                                     : around.most.x - around.least.x) /
                        2;
    const double at = far * 0.8;
    const double half = foot.body->corners.empty() ? wide * 0.55 : wide;
    const Point a = {c.x + to.x * at + aside.x * half,
                     c.y + to.y * at + aside.y * half};
    const Point b = {c.x + to.x * at - aside.x * half,
                     c.y + to.y * at - aside.y * half};
    if (foot.shape->form == ShapeForm::rows) {
      const Point notch = {c.x + to.x * far, c.y + to.y * far};
      text_ += fmt::format(
          "<circle cx=\"{}\" cy=\"{}\" r=\"1\" fill=\"#FFFFFF\" stroke=\"#000000\" "
          "stroke-width=\"0.25\"/>\n",
          number(x(notch)), number(y(notch)));
      return;
    }
    line(x(a), y(a), x(b), y(b), 0.6);
  }

  void leads() {
    for (std::size_t f = 0; f < report_.proof.feet.size(); ++f) {
      const Footprint& foot = report_.proof.feet[f];
      for (std::size_t lead = 0; lead < foot.lead_holes.size(); ++lead) {
        if (!foot.has_hole[lead]) continue;
        const Hole hole = foot.lead_holes[lead];
        text_ += fmt::format(
            "<circle cx=\"{}\" cy=\"{}\" r=\"0.5\" fill=\"{}\" stroke=\"#000000\" "
            "stroke-width=\"0.2\"/>\n",
            number(x(hole)), number(y(hole)), foot.is_off ? "#FFFFFF" : "#000000");
      }
    }
  }

  /// A small text near a hole: below it, above it, aside of these, or upright, where it
  /// hides least of what stands there already. Returns whether it hides nothing, or was
  /// written all the same since it `must`.
  bool label(Hole hole, double size, std::string_view what, bool must) {
    struct Try {
      Point middle;
      bool is_upright;
    };
    const double half = 0.3 * size * static_cast<double>(what.size());
    const double up = 0.65 + size / 2;
    const double far = 0.75 + half;
    const double aside = half - 0.4;
    const double h_x = x(hole);
    const double h_y = y(hole);
    const std::array<Try, 10> tries = {{{{h_x, h_y + up}, false},
                                        {{h_x, h_y - up}, false},
                                        {{h_x + far, h_y}, false},
                                        {{h_x - far, h_y}, false},
                                        {{h_x + aside, h_y + up}, false},
                                        {{h_x - aside, h_y + up}, false},
                                        {{h_x + aside, h_y - up}, false},
                                        {{h_x - aside, h_y - up}, false},
                                        {{h_x, h_y + far}, true},
                                        {{h_x, h_y - far}, true}}};
    const auto box_of = [size, half](const Try& at) {
      const Point by = at.is_upright ? Point{size / 2, half} : Point{half, size / 2};
      return Bounds{{at.middle.x - by.x, at.middle.y - by.y},
                    {at.middle.x + by.x, at.middle.y + by.y}};
    };
    const auto* best = &tries.front();
    double least = hidden_by(box_of(*best));
    for (const Try& at : tries)
      if (const double hides = hidden_by(box_of(at)); hides < least) {
        least = hides;
        best = &at;
      }
    if (least > 0.0 && !must) return false;
    write_label(best->middle, size, what, best->is_upright);
    taken_.push_back(box_of(*best));
    return true;
  }

  /// How much of other texts and leads a text hides, and how much of it lies beyond the
  /// board. Square millimetre.
  [[nodiscard]] double hidden_by(const Bounds& box) const {
    const auto shared = [&box](const Bounds& other) {
      const double wide =
          std::min(box.most.x, other.most.x) - std::max(box.least.x, other.least.x);
      const double deep =
          std::min(box.most.y, other.most.y) - std::max(box.least.y, other.least.y);
      return wide > 0.0 && deep > 0.0 ? wide * deep : 0.0;
    };
    const double whole = (box.most.x - box.least.x) * (box.most.y - box.least.y);
    const double out =
        whole -
        shared({{kMargin, top_}, {kMargin + width_, top_ + depth_ + kMargin / 4}});
    double area = out > 1e-9 ? out : 0.0;
    for (const Bounds& other : taken_) area += shared(other);
    return area;
  }

  void write_label(Point middle, double size, std::string_view what, bool is_upright) {
    const std::string halo =
        " stroke=\"#FFFFFF\" stroke-width=\"0.4\" paint-order=\"stroke\"";
    words(is_upright ? middle.x + size * 0.35 : middle.x,
          is_upright ? middle.y : middle.y + size * 0.35, size, "middle", what,
          is_upright ? fmt::format("{} transform=\"rotate(-90 {} {})\"", halo,
                                   number(middle.x + size * 0.35), number(middle.y))
                     : halo);
  }

  /// Where leads go through the board, no text may lie.
  void take_leads() {
    for (const Footprint& foot : report_.proof.feet)
      for (std::size_t lead = 0; lead < foot.lead_holes.size(); ++lead) {
        if (!foot.has_hole[lead]) continue;
        const Hole hole = foot.lead_holes[lead];
        taken_.push_back(
            {{x(hole) - 0.6, y(hole) - 0.6}, {x(hole) + 0.6, y(hole) + 0.6}});
      }
  }

  void names() {
    constexpr double kSize = 1.5;
    const std::string halo =
        " stroke=\"#FFFFFF\" stroke-width=\"0.5\" paint-order=\"stroke\"";
    for (const Footprint& foot : report_.proof.feet) {
      if (foot.is_off || !foot.body) continue;
      const std::string& name = part_of(foot).name;
      const Bounds around = bounds(*foot.body);
      const bool is_tall =
          around.most.y - around.least.y > 1.5 * (around.most.x - around.least.x);
      const double at_x = x(foot.body->centre);
      const double at_y = y(foot.body->centre);
      words(is_tall ? at_x + 0.5 : at_x, is_tall ? at_y : at_y + 0.5, kSize, "middle",
            name,
            is_tall ? fmt::format("{} transform=\"rotate(-90 {} {})\"", halo,
                                  number(at_x + 0.5), number(at_y))
                    : halo);
      const double half = 0.3 * kSize * static_cast<double>(name.size());
      const double half_x = is_tall ? kSize / 2 : half;
      const double half_y = is_tall ? half : kSize / 2;
      taken_.push_back(
          {{at_x - half_x, at_y - half_y}, {at_x + half_x, at_y + half_y}});
    }
    take_leads();
    // Names of wires would cover each other: numbers stand for those of the list.
    const std::vector<WireStart> wires = wire_starts(report_);
    for (std::size_t k = 0; k < wires.size(); ++k)
      label(wires[k].hole, 1.3, std::to_string(k + 1), true);
  }

  /// Each net's name beside some of its leads: wherever there is room and it does not
  /// stand near already, and once at least.
  void net_names() {
    constexpr double kApart = 9.0;  // Names of one net, at least. Millimetre.
    take_leads();
    for (const BoardIsland& island : report_.proof.islands) {
      const std::string& name =
          report_.file.circuit->nets[static_cast<std::size_t>(island.net)].name;
      std::vector<Hole> named;
      std::vector<Hole> leads = leads_of(island);
      for (const Hole hole : leads) {
        const bool is_near =
            std::any_of(named.begin(), named.end(), [this, hole](Hole other) {
              return std::hypot(x(hole) - x(other), y(hole) - y(other)) < kApart;
            });
        if (!is_near && label(hole, 1.0, name, false)) named.push_back(hole);
      }
      if (named.empty() && !leads.empty()) label(leads.front(), 1.0, name, true);
    }
  }

  /// The holes of an island that a part's lead or wire stands in.
  [[nodiscard]] std::vector<Hole> leads_of(const BoardIsland& island) const {
    std::set<Hole> used;
    for (const Footprint& foot : report_.proof.feet)
      for (std::size_t lead = 0; lead < foot.lead_holes.size(); ++lead)
        if (foot.has_hole[lead]) used.insert(foot.lead_holes[lead]);
    std::vector<Hole> leads;
    std::copy_if(island.holes.begin(), island.holes.end(), std::back_inserter(leads),
                 [&used](Hole hole) { return used.contains(hole); });
    return leads;
  }

  [[nodiscard]] const Part& part_of(const Footprint& foot) const {
    return report_.file.circuit->parts[static_cast<std::size_t>(foot.part)];
  }

  const BoardReport& report_;
  const Board& board_;
  double top_;
  bool is_copper_;
  HoleMarks marks_;
  double width_;
  double depth_;
  std::string text_;
  std::vector<Bounds> taken_;  ///< Where texts stand. Millimetre, of the page.
};

/// Sample lines with the nets' names. Returns how deep it gets.
std::string legend(const BoardReport& report, double top, double width) {
  std::string text;
  const int columns = columns_of_lists(width);
  for (std::size_t net = 0; net < report.file.circuit->nets.size(); ++net) {
    const double x =
        kMargin +
        static_cast<double>(net % static_cast<std::size_t>(columns)) * kColumnWide;
    const double y =
        top + static_cast<double>(net / static_cast<std::size_t>(columns)) * kLineDeep;
    const auto dash = kStyles[(net / kColours.size() + net) % kStyles.size()];
    text += fmt::format(
        "<line x1=\"{}\" y1=\"{}\" x2=\"{}\" y2=\"{}\" stroke=\"{}\"{} "
        "stroke-width=\"0.7\"/>\n",
        number(x), number(y), number(x + 8), number(y), kColours[net % kColours.size()],
        dash.empty() ? "" : fmt::format(" stroke-dasharray=\"{}\"", dash));
    text += fmt::format("<text x=\"{}\" y=\"{}\" font-size=\"2\">{}</text>\n",
                        number(x + 9), number(y + 0.7),
                        escaped(report.file.circuit->nets[net].name));
  }
  return text;
}

}  // namespace

std::string board_svg(const BoardReport& report, HoleMarks marks) {
  const double width =
      std::max(report.board.columns * kPitch * kMilli, 64.0) + 2 * kMargin;
  const double depth = pitches_deep(report.board) * kPitch * kMilli;
  const double first = kMargin + kHead + 4.0;
  const std::size_t wires = wire_starts(report).size();
  const double list_top = first + depth + 4.5;
  const double second = first + depth + kHead + kMargin +
                        (wires > 0 ? list_depth(wires, width) + 1.5 : 0);
  const double legend_top = second + depth + 6.0;
  const double whole =
      legend_top + list_depth(report.file.circuit->nets.size(), width) + 4.0;
  std::string text = fmt::format(
      "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"
      "<svg xmlns=\"http://www.w3.org/2000/svg\" version=\"1.1\" width=\"{0}mm\" "
      "height=\"{1}mm\" viewBox=\"0 0 {0} {1}\" font-family=\"sans-serif\">\n"
      "<title>{2}</title>\n"
      "<rect width=\"{0}\" height=\"{1}\" fill=\"#FFFFFF\"/>\n",
      number(width), number(whole), escaped(report.file.circuit->title));
  text += fmt::format("<text x=\"{}\" y=\"6\" font-size=\"3.5\">{}</text>\n",
                      number(kMargin), escaped(report.file.circuit->title));
  text += SideDrawing(report, first, false, marks).draw();
  text += wire_list(report, list_top, width);
  text += SideDrawing(report, second, true, marks).draw();
  text += legend(report, legend_top, width);
  return text + "</svg>\n";
}

}  // namespace benchproof
