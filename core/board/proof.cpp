#include "core/board/proof.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <set>
#include <utility>

#include "core/board/islands.h"
#include "core/check/finding/wording.h"

namespace benchproof {
namespace {

constexpr std::string_view kOurs = "the description's nets, hole by hole";
constexpr std::array kExplained = {
    Explanation{"board-missing", "whether every part is on the board",
                "pins without a hole", "the description (given)",
                "the circuit is not built",
                "place the part, or name it in 'off' with the holes of its wires"},
    Explanation{"board-open", "whether all pins of a net are joined",
                "the islands that copper, bridges and wires make of a net's pins: one",
                "the description's nets (given)",
                "what hangs on the piece that is cut off gets no current",
                "join the pieces: a bridge between neighbours, else a wire"},
    Explanation{"board-short", "whether two nets are joined",
                "the nets that stand on one island: one",
                "the description's nets (given)",
                "a short circuit: what drives one net drives the other",
                "take the bridge or wire away, or move its end"},
    Explanation{"board-strip", "whether a strip runs on under another net",
                "the nets along a strip, from cut to cut: one",
                "the description's nets (given)",
                "a short circuit along the copper, which is not seen from the top",
                "cut the strip at a free hole between the two"},
    Explanation{
        "board-hole-twice", "whether two leads share a hole",
        "leads, jumpers' ends and wires' ends on the parts' side in a hole: one",
        "holes of 1.0 mm (board sellers, from memory)",
        "two leads do not go through one hole, or loosen each other",
        "move one of them to a neighbouring hole"},
    Explanation{"board-reach", "whether leads reach their holes",
                "the distance of the holes against the lead spacing of the shape",
                "reference/shapes, which marks each; bending by one pitch (practice)",
                "a lead is torn out of its body, or does not go in",
                "choose holes as far apart as the leads are"},
    Explanation{"board-pattern", "whether the legs stand as the holes do",
                "the order and spacing of the leads against the holes",
                "reference/shapes, which marks each",
                "the part does not go in, or its pins are exchanged",
                "give one pin and the side that it faces: the rest follows"},
    Explanation{"board-faces", "whether holes and 'faces' agree",
                "the side that the front faces by the holes", "the description (given)",
                "the part goes in the wrong way round",
                "exchange the holes, or leave 'faces' out"},
    Explanation{"board-leg", "whether legs that no pin names touch a net",
                "the island of each such leg: alone", "the description (given)",
                "a leg of a chip that is not thought of drives or loads the net",
                "cut the strip at that leg, or move the wire"},
    Explanation{"board-overlap", "whether bodies meet",
                "outlines of bodies, of leads in holes, of jumpers: 0.2 mm at most",
                "reference/shapes, largest sizes, which marks each; 0.2 mm (practice)",
                "the parts do not fit beside each other", "move one of them by a hole"},
    Explanation{"board-edge", "whether bodies stay on the board",
                "how far a body reaches over the edge",
                "reference/shapes, which marks each",
                "it may meet what stands beside the board",
                "see that there is room, or move it inwards"},
    Explanation{"board-size", "whether the board fits its space",
                "holes times the pitch, and what reaches over the edge",
                "the description's space (given)", "it does not go into the model",
                "fewer holes, or lay parts closer"},
    Explanation{"board-height", "whether parts are lower than the space",
                "the height of each part as it stands",
                "the description's space (given)", "the lid does not close over it",
                "lay it flat, or choose a lower part"},
    Explanation{"board-bridge", "whether a bridge is a line of neighbours",
                "the holes of a bridge: in a row or column, next to each other",
                "solder closes 2.54 mm (practice)", "solder does not hold over a gap",
                "make it a wire"},
    Explanation{"board-jumper", "whether a jumper is straight and free",
                "the line between its holes", "no source (practice)",
                "a bare wire touches what it crosses", "make it an insulated wire"},
    Explanation{"board-cut", "whether a cut's hole is used",
                "leads and ends of joins in a hole that is cut",
                "the description (given)", "there is no copper left to solder to",
                "cut at a free hole, or move the lead"},
    Explanation{"board-cut-idle", "whether a cut parts anything",
                "what stands on both sides of the cut", "the description (given)",
                "it may be the wrong hole", "leave it, or cut where it was meant"},
    Explanation{"board-heat", "whether electrolytics stand beside heat",
                "distance of what turns more than 0.3 W into heat: 5 mm",
                "no source (practice)",
                "an electrolytic dries out twice as fast every 10 K",
                "move one of the two by some holes"},
    Explanation{"board-marks", "whether neighbours look the same way",
                "the sides to which marks of neighbouring parts of a kind point",
                "no source (practice)",
                "one of them is easily soldered in the wrong way round",
                "turn one, or look twice when it is soldered"},
    Explanation{"board-drill", "whether leads go through the holes",
                "the lead's thickness against a hole of 1.0 mm",
                "reference/shapes; holes from memory of sellers' pages",
                "the lead does not go in", "drill the hole a little wider"},
    Explanation{"board-legs-assumed", "whether it is known which leg is which pin",
                "the description (given), else the type's data", "no source (practice)",
                "on a chip with other legs everything is joined wrongly",
                "tell them: legs = { vdd = 1, vss = 8, ... }"},
    Explanation{"board-makers", "whether makers differ in the order of leads",
                "what sources say of the type, each with its mark",
                "reference/shapes, which marks each",
                "a part of another maker goes in with two leads exchanged",
                "measure or look up the one that you have"},
};

constexpr CheckId id(std::string_view check) {
  for (const Explanation& row : kExplained)
    if (row.check == check) return CheckId(row);
  throw std::invalid_argument("a board's finding that no table explains");
}

/// Outlines may overlap by so much: sizes are the largest of a shape. Common practice.
/// Metre.
constexpr double kSqueeze = 0.2e-3;
/// A lead in a hole, seen from above. Metre.
constexpr double kLeadRadius = 0.3e-3;
/// A bare jumper. Metre.
constexpr double kJumperRadius = 0.3e-3;
constexpr double kHoleDiameter = 1.0e-3;  // From memory of sellers' pages. Metre.
/// What gets warm, and how near that may be to an electrolytic. Common practice.
constexpr double kWarmWatts = 0.3;
constexpr double kWarmMetres = 5e-3;
/// Marks of parts within this are compared. Common practice. Metre.
constexpr double kNeighbours = 12.7e-3;
constexpr double kHair = 1e-6;

std::string millimetres(double metres) {
  return fmt::format("{:.4g} mm", std::round(metres * 1e5) / 1e2);
}

/// What stands in a hole: a pin, or a leg that no pin names.
struct Stands {
  std::size_t foot = 0;
  int lead = 0;
  int pin = -1;
  Hole hole;
  /// The net, or a number of its own below -1 for what stands alone.
  int net = -1;
};

class Proof {
 public:
  Proof(const Circuit& circuit, const Board& board, std::span<const double> watts)
      : circuit_(circuit), board_(board), watts_(watts) {}

  BoardProof prove() {
    for (const Placement& place : board_.places)
      proof_.feet.push_back(footprint_of(circuit_, board_, place));
    check_missing();
    check_places();
    gather();
    check_holes();
    check_joins();
    check_shorts();
    check_opens();
    check_cuts();
    check_bodies();
    check_space();
    check_heat();
    check_marks();
    note_islands();
    std::stable_sort(
        proof_.findings.begin(), proof_.findings.end(),
        [](const Finding& a, const Finding& b) { return a.severity > b.severity; });
    return std::move(proof_);
  }

 private:
  const Part& part_at(int index) const {
    return circuit_.parts[static_cast<std::size_t>(index)];
  }
  std::string name(Hole hole) const { return hole_name(board_, hole); }
  std::string pin_text(const Stands& s) const {
    const Part& part = part_at(proof_.feet[s.foot].part);
    if (s.pin < 0) return fmt::format("leg {} of '{}'", s.lead + 1, part.name);
    return fmt::format("{}.{}", part.name, part.pins[static_cast<std::size_t>(s.pin)]);
  }
  std::string net_text(int net) const {
    if (net >= 0)
      return fmt::format("'{}'", circuit_.nets[static_cast<std::size_t>(net)].name);
    return pin_text(stands_[static_cast<std::size_t>(-net - 2)]);
  }

  Finding& add(Severity severity, CheckId check, const Span& span, Hole hole,
               std::string message) {
    Finding finding;
    finding.severity = severity;
    finding.check = std::string(std::string_view(check));
    finding.span = span;
    finding.hole = name(hole);
    finding.message = std::move(message);
    finding.source = kOurs;
    finding.mark = Mark::given;
    proof_.findings.push_back(std::move(finding));
    return proof_.findings.back();
  }

  void source(Finding& finding, std::string text, Mark mark) {
    finding.source = std::move(text);
    finding.mark = mark;
  }

  void check_missing() {
    std::vector<const Footprint*> of_part(circuit_.parts.size(), nullptr);
    for (const Footprint& foot : proof_.feet)
      of_part[static_cast<std::size_t>(foot.part)] = &foot;
    for (std::size_t k = 0; k < circuit_.parts.size(); ++k) {
      const Part& part = circuit_.parts[k];
      const Footprint* foot = of_part[k];
      std::vector<std::string> missing;
      for (std::size_t pin = 0; pin < part.pins.size(); ++pin) {
        if (part.nets[pin] < 0) continue;
        bool is_there = false;
        if (foot != nullptr)
          for (std::size_t lead = 0; lead < foot->pin_of_lead.size(); ++lead)
            is_there = is_there || (foot->pin_of_lead[lead] == static_cast<int>(pin) &&
                                    foot->has_hole[lead]);
        if (!is_there) missing.push_back(part.pins[pin]);
      }
      if (missing.empty()) continue;
      if (foot != nullptr && foot->misplaced != Misplaced::no) continue;  // Told there.
      Finding finding = about(part, Severity::fault, id("board-missing"));
      const bool is_off = board_.is_off[k];
      finding.message =
          fmt::format("{} of '{}' {} no hole{}",
                      missing.size() == part.pins.size() && !is_off
                          ? std::string("no pin")
                          : fmt::format("{} {}", missing.size() == 1 ? "pin" : "pins",
                                        fmt::join(missing, ", ")),
                      part.name,
                      missing.size() == part.pins.size() && !is_off ? "has"
                      : missing.size() == 1                         ? "has"
                                                                    : "have",
                      is_off ? " where its wire starts" : "");
      if (missing.size() == part.pins.size() && !is_off)
        finding.message = fmt::format("'{}' is not on the board", part.name);
      finding.source = kOurs;
      finding.mark = Mark::given;
      proof_.findings.push_back(std::move(finding));
    }
  }

  void check_places() {
    for (const Footprint& foot : proof_.feet) {
      const Part& part = part_at(foot.part);
      if (foot.misplaced != Misplaced::no) {
        const CheckId check = foot.misplaced == Misplaced::reach ? id("board-reach")
                              : foot.misplaced == Misplaced::faces
                                  ? id("board-faces")
                                  : id("board-pattern");
        Finding& finding =
            add(Severity::fault, check, foot.span, foot.at.value_or(Hole{}),
                fmt::format("'{}' cannot stand so at {}: {}; {}", part.name,
                            name(foot.at.value_or(Hole{})), foot.problem, foot.remedy));
        finding.part = part.name;
        source(finding, fmt::format("shape {} of reference/shapes", foot.shape->name),
               Mark::verified);
      }
      if (foot.is_off || foot.shape->form == ShapeForm::loose) continue;
      const Leads leads = leads_of(part, *foot.shape);
      const auto first = std::find(foot.has_hole.begin(), foot.has_hole.end(), true);
      if (first == foot.has_hole.end()) continue;
      const Hole at =
          foot.lead_holes[static_cast<std::size_t>(first - foot.has_hole.begin())];
      if (leads.is_assumed) {
        Finding& finding =
            add(Severity::note, id("board-legs-assumed"), foot.span, at,
                fmt::format("which lead of '{}' is which pin is assumed: {}; tell it: "
                            "legs = {{ ... }}",
                            part.name, legs_text(part, leads)));
        finding.part = part.name;
        source(finding, "common practice, no source", Mark::practice);
      }
      if (!leads.differs.empty()) {
        Finding& finding =
            add(Severity::note, id("board-makers"), foot.span, at,
                fmt::format("leads of '{}' from lead 1: {}; {}", part.name,
                            legs_text(part, leads), leads.differs));
        finding.part = part.name;
        const LeadOrder* order = built_in_shapes().order(part.type->name);
        source(finding, leads.source, order != nullptr ? order->mark : Mark::given);
      }
      const auto thick = foot.shape->figures.find("lead");
      constexpr double kTight = 1.05e-3;  // Widest leads of a TO-220 still go in.
      if (thick != foot.shape->figures.end() && thick->second.value > kTight) {
        Finding& finding = add(
            Severity::caution, id("board-drill"), foot.span, at,
            fmt::format("leads of '{}' are {} thick, more than a hole of 1 mm: drill "
                        "it wider; eyes protected",
                        part.name, millimetres(thick->second.value)));
        finding.part = part.name;
        finding.quantity = "lead";
        finding.unit = Unit::metre;
        finding.value = thick->second.value;
        finding.limit = kHoleDiameter;
        source(finding, thick->second.source, thick->second.mark);
      }
    }
  }

  static std::string legs_text(const Part& part, const Leads& leads) {
    std::vector<std::string> texts;
    for (std::size_t lead = 0; lead < leads.pin_of_lead.size(); ++lead)
      if (const int pin = leads.pin_of_lead[lead]; pin >= 0)
        texts.push_back(
            fmt::format("{} {}", lead + 1, part.pins[static_cast<std::size_t>(pin)]));
    return fmt::format("{}", fmt::join(texts, ", "));
  }

  void gather() {
    for (std::size_t f = 0; f < proof_.feet.size(); ++f) {
      const Footprint& foot = proof_.feet[f];
      const Part& part = part_at(foot.part);
      for (std::size_t lead = 0; lead < foot.lead_holes.size(); ++lead) {
        if (!foot.has_hole[lead]) continue;
        Stands s{f, static_cast<int>(lead), foot.pin_of_lead[lead],
                 foot.lead_holes[lead]};
        const int net = s.pin < 0 ? -1 : part.nets[static_cast<std::size_t>(s.pin)];
        s.net = net >= 0 ? net : -static_cast<int>(stands_.size()) - 2;
        stands_.push_back(s);
      }
    }
  }

  void check_holes() {
    std::map<Hole, std::size_t> first;
    for (std::size_t k = 0; k < stands_.size(); ++k) {
      const auto [there, is_new] = first.emplace(stands_[k].hole, k);
      if (is_new) continue;
      Finding& finding =
          add(Severity::fault, id("board-hole-twice"),
              proof_.feet[stands_[k].foot].span, stands_[k].hole,
              fmt::format("two leads in {}: {} and {}; one of them needs another hole",
                          name(stands_[k].hole), pin_text(stands_[there->second]),
                          pin_text(stands_[k])));
      finding.part = part_at(proof_.feet[stands_[k].foot].part).name;
    }
    std::map<Hole, std::string> ends;
    for (const Join& join : board_.joins) {
      const bool is_on_top =
          join.kind == JoinKind::jumper ||
          (join.kind == JoinKind::wire && board_.kind == BoardKind::groups);
      if (!is_on_top) continue;
      for (const Hole hole : {join.from, join.to}) {
        std::string other;
        if (const auto lead = first.find(hole); lead != first.end())
          other = pin_text(stands_[lead->second]);
        if (const auto end = ends.find(hole); other.empty() && end != ends.end())
          other = end->second;
        if (!other.empty())
          add(Severity::fault, id("board-hole-twice"), join.span, hole,
              fmt::format(
                  "{} is used twice: {}, and a {} ends there; on the parts' side "
                  "each end needs a hole of its own",
                  name(hole), other, join_word(join.kind)));
        ends.emplace(hole, fmt::format("another {}'s end", join_word(join.kind)));
      }
    }
  }

  void check_joins() {
    for (const Join& join : board_.joins) {
      if (join.from == join.to) {
        add(Severity::fault, id("board-bridge"), join.span, join.from,
            fmt::format("a {} from {} to itself joins nothing", join_word(join.kind),
                        name(join.from)));
        continue;
      }
      if (join.kind == JoinKind::bridge && !is_straight_bridge(board_, join)) {
        add(Severity::fault, id("board-bridge"), join.span, join.from,
            fmt::format("{} to {} is no straight line of neighbouring holes: no bridge "
                        "of solder, make it a wire",
                        name(join.from), name(join.to)));
        continue;
      }
      if (join.kind == JoinKind::jumper) check_jumper(join);
    }
  }

  void check_jumper(const Join& join) {
    if (join.from.row != join.to.row && join.from.column != join.to.column)
      add(Severity::fault, id("board-jumper"), join.span, join.from,
          fmt::format("a jumper from {} to {} is not straight along a row or column; "
                      "make it a wire",
                      name(join.from), name(join.to)));
    const Outline line =
        rectangle(point_of(board_, join.from), point_of(board_, join.to),
                  length_of(board_, join), 2 * kJumperRadius);
    for (const Footprint& foot : proof_.feet)
      if (foot.body && apart(line, *foot.body) < -kHair)
        add(Severity::fault, id("board-jumper"), join.span, join.from,
            fmt::format("the jumper from {} to {} crosses '{}'; make it a wire on the "
                        "copper side",
                        name(join.from), name(join.to), part_at(foot.part).name))
            .part = part_at(foot.part).name;
    for (const Join& other : board_.joins)
      if (&other < &join && other.kind == JoinKind::jumper && other.from != other.to &&
          apart(line,
                rectangle(point_of(board_, other.from), point_of(board_, other.to),
                          length_of(board_, other), 2 * kJumperRadius)) < -kHair)
        add(Severity::fault, id("board-jumper"), join.span, join.from,
            fmt::format("the jumpers from {} to {} and from {} to {} cross, both bare",
                        name(join.from), name(join.to), name(other.from),
                        name(other.to)));
  }

  /// Joins holes link by link. The link that first makes two nets one is told.
  void check_shorts() {
    Islands islands(board_);
    std::vector<std::set<int>> nets(islands.holes().size());
    std::vector<std::vector<std::size_t>> leads(islands.holes().size());
    std::map<int, int> told;  // Nets that are known to be one: a forest.
    const auto root = [&told](int net) {
      for (auto up = told.find(net); up != told.end(); up = told.find(net))
        net = up->second;
      return net;
    };
    for (std::size_t k = 0; k < stands_.size(); ++k) {
      const auto at = static_cast<std::size_t>(islands.index(stands_[k].hole));
      for (const int other : nets[at])
        if (root(other) != root(stands_[k].net))
          told[root(stands_[k].net)] = root(other);
      nets[at].insert(stands_[k].net);
      leads[at].push_back(k);
    }
    for (const Link& link : links_of(board_)) {
      const auto a = static_cast<std::size_t>(islands.root(link.from));
      const auto b = static_cast<std::size_t>(islands.root(link.to));
      if (a == b) continue;
      for (const int first : nets[a])
        for (const int second : nets[b]) {
          if (root(first) == root(second)) continue;
          tell_short(link, first, second, leads[a], leads[b]);
          told[root(second)] = root(first);
        }
      islands.join(static_cast<int>(a), static_cast<int>(b));
      const std::size_t stays = std::min(a, b);
      const std::size_t goes = std::max(a, b);
      nets[stays].insert(nets[goes].begin(), nets[goes].end());
      leads[stays].insert(leads[stays].end(), leads[goes].begin(), leads[goes].end());
    }
  }

  /// The lead of a net in a list that is nearest to a hole.
  const Stands& nearest_lead(const std::vector<std::size_t>& leads, int net,
                             Hole hole) const {
    const Stands* best = nullptr;
    const auto far = [&](const Stands& s) {
      const Point a = point_of(board_, s.hole);
      const Point b = point_of(board_, hole);
      return std::hypot(a.x - b.x, a.y - b.y);
    };
    for (const std::size_t k : leads)
      if (stands_[k].net == net && (best == nullptr || far(stands_[k]) < far(*best)))
        best = &stands_[k];
    return *best;
  }

  void tell_short(const Link& link, int first, int second,
                  const std::vector<std::size_t>& leads_a,
                  const std::vector<std::size_t>& leads_b) {
    const Stands& one = nearest_lead(leads_a, first, link.from);
    const Stands& other = nearest_lead(leads_b, second, link.to);
    const bool is_leg = first < 0 || second < 0;
    const std::string nets = fmt::format(
        "{} ({} in {}) and {} ({} in {})", net_text(first), pin_text(one),
        name(one.hole), net_text(second), pin_text(other), name(other.hole));
    Finding* finding = nullptr;
    if (link.join >= 0) {
      const Join& join = board_.joins[static_cast<std::size_t>(link.join)];
      finding =
          &add(Severity::fault, is_leg ? id("board-leg") : id("board-short"), join.span,
               join.from,
               fmt::format("the {} from {} to {} joins {}; take it away or move "
                           "its end",
                           join_word(join.kind), name(join.from), name(join.to), nets));
    } else if (board_.kind == BoardKind::strips) {
      const auto [west, east] = std::minmax(one.hole.column, other.hole.column);
      const bool is_row = one.hole.row == other.hole.row;
      const bool has_room = is_row && east - west > 1;
      const Hole between = {one.hole.row, west + 1};
      finding = &add(
          Severity::fault, is_leg ? id("board-leg") : id("board-strip"),
          proof_.feet[other.foot].span, has_room ? between : other.hole,
          fmt::format("strip {} joins {}; {}", row_text(link.from), nets,
                      !is_row     ? "cut it between them"
                      : !has_room ? "there is no hole between them for a cut: move one"
                      : east - west == 2
                          ? fmt::format("cut it at {}", name(between))
                          : fmt::format("cut it at a hole from {} to {}", name(between),
                                        name({one.hole.row, east - 1}))));
    } else {
      finding =
          &add(Severity::fault, is_leg ? id("board-leg") : id("board-strip"),
               proof_.feet[other.foot].span, other.hole,
               fmt::format("the copper of one group joins {}; move one to another "
                           "group",
                           nets));
    }
    finding->net = first >= 0    ? circuit_.nets[static_cast<std::size_t>(first)].name
                   : second >= 0 ? circuit_.nets[static_cast<std::size_t>(second)].name
                                 : std::string();
    shorted_.insert(first);
    shorted_.insert(second);
    if (short_check_.empty()) short_check_ = finding->check;
  }

  std::string row_text(Hole hole) const {
    std::string text = name(hole);
    while (!text.empty() && text.back() >= '0' && text.back() <= '9') text.pop_back();
    return text;
  }

  void check_opens() {
    const Islands islands = islands_of(board_);
    for (std::size_t net = 0; net < circuit_.nets.size(); ++net) {
      std::map<int, std::vector<const Stands*>> pieces;
      for (const Stands& s : stands_)
        if (s.net == static_cast<int>(net)) pieces[islands.root(s.hole)].push_back(&s);
      if (pieces.size() < 2) continue;
      // The largest piece is the net; the first hole apart from it is told.
      const auto largest = std::max_element(pieces.begin(), pieces.end(),
                                            [](const auto& a, const auto& b) {
                                              return a.second.size() < b.second.size();
                                            });
      std::vector<std::string> texts;
      Hole at;
      bool has_hole_told = false;
      for (const auto& [piece, list] : pieces) {
        std::vector<std::string> pins;
        for (const Stands* s : list)
          pins.push_back(fmt::format("{} in {}", pin_text(*s), name(s->hole)));
        constexpr std::size_t kMost = 4;
        std::string text = fmt::format(
            "{}{}",
            fmt::join(pins.begin(),
                      pins.begin() +
                          static_cast<std::ptrdiff_t>(std::min(kMost, pins.size())),
                      ", "),
            pins.size() > kMost ? " ..." : "");
        texts.push_back(std::move(text));
        if (piece != largest->first && !has_hole_told) {
          at = list.front()->hole;
          has_hole_told = true;
        }
      }
      constexpr std::size_t kMostPieces = 4;
      const std::size_t shown = std::min(kMostPieces, texts.size());
      Finding& finding =
          add(Severity::fault, id("board-open"), circuit_.nets[net].span, at,
              fmt::format("net '{}' lies in {} pieces: {}{}", circuit_.nets[net].name,
                          pieces.size(),
                          fmt::join(texts.begin(),
                                    texts.begin() + static_cast<std::ptrdiff_t>(shown),
                                    "; apart from it "),
                          texts.size() > shown ? "; ..." : ""));
      finding.net = circuit_.nets[net].name;
      if (shorted_.contains(static_cast<int>(net))) finding.follows = short_check_;
    }
  }

  void check_cuts() {
    std::set<Hole> cuts;
    for (const Cut& cut : board_.cuts) cuts.insert(cut.hole);
    for (const Stands& s : stands_)
      if (cuts.contains(s.hole))
        add(Severity::fault, id("board-cut"), proof_.feet[s.foot].span, s.hole,
            fmt::format("{} stands in {}, where the copper is cut away", pin_text(s),
                        name(s.hole)))
            .part = part_at(proof_.feet[s.foot].part).name;
    for (const Join& join : board_.joins)
      for (const Hole hole : holes_along(board_, join))
        if (cuts.contains(hole))
          add(Severity::fault, id("board-cut"), join.span, hole,
              fmt::format("the {} from {} to {} is soldered at {}, where the copper is "
                          "cut away",
                          join_word(join.kind), name(join.from), name(join.to),
                          name(hole)));
    for (const Cut& cut : board_.cuts) {
      bool is_used[2] = {false, false};
      for (const int side : {-1, 1})
        for (Hole at = {cut.hole.row, cut.hole.column + side};
             has_hole(board_, at) && !cuts.contains(at); at.column += side) {
          const auto is_here = [&at](Hole hole) { return hole == at; };
          bool is_something =
              std::any_of(stands_.begin(), stands_.end(),
                          [&](const Stands& s) { return is_here(s.hole); });
          for (const Join& join : board_.joins)
            for (const Hole hole : holes_along(board_, join))
              is_something = is_something || is_here(hole);
          if (is_something) is_used[side > 0 ? 1 : 0] = true;
        }
      if (is_used[0] && is_used[1]) continue;
      Finding& finding =
          add(Severity::note, id("board-cut-idle"), cut.span, cut.hole,
              fmt::format("the cut at {} parts nothing: one of its sides is empty",
                          name(cut.hole)));
      source(finding, "common practice, no source", Mark::practice);
    }
  }

  void check_bodies() {
    for (std::size_t a = 0; a < proof_.feet.size(); ++a) {
      const Footprint& one = proof_.feet[a];
      if (!one.body) continue;
      for (std::size_t b = 0; b < proof_.feet.size(); ++b) {
        const Footprint& other = proof_.feet[b];
        if (a == b) continue;
        const bool meets =
            b > a && other.body && apart(*one.body, *other.body) < -kSqueeze;
        const bool is_told_as_bodies =
            other.body && apart(*one.body, *other.body) < -kSqueeze;
        if (meets) {
          tell_meeting(one, other, other.lead_holes.front());
        } else if (!is_told_as_bodies) {
          for (std::size_t lead = 0; lead < other.lead_holes.size(); ++lead)
            if (other.has_hole[lead] && is_under(one, other.lead_holes[lead])) {
              tell_meeting(one, other, other.lead_holes[lead]);
              break;
            }
        }
      }
    }
  }

  /// Whether a hole lies under a body, so that no other lead goes through it.
  bool is_under(const Footprint& foot, Hole hole) const {
    return apart(*foot.body, circle(point_of(board_, hole), kLeadRadius)) <
           -kLeadRadius - kSqueeze;
  }

  void tell_meeting(const Footprint& one, const Footprint& other, Hole at) {
    Finding& finding =
        add(Severity::fault, id("board-overlap"), other.span, at,
            fmt::format("'{}' ({}) and '{}' ({}) meet at {}", part_at(one.part).name,
                        one.shape->name, part_at(other.part).name,
                        other.is_off ? "its wire" : other.shape->name, name(at)));
    finding.part = part_at(other.part).name;
    source(finding, "reference/shapes, largest sizes", Mark::verified);
  }

  void check_space() {
    Point least{-kPitch / 2, -kPitch / 2};
    Point most{(board_.columns - 0.5) * kPitch, (pitches_deep(board_) - 0.5) * kPitch};
    const Point bare_least = least;
    const Point bare_most = most;
    for (const Footprint& foot : proof_.feet) {
      if (!foot.body) continue;
      const Bounds around = bounds(*foot.body);
      const double over =
          std::max({bare_least.x - around.least.x, bare_least.y - around.least.y,
                    around.most.x - bare_most.x, around.most.y - bare_most.y});
      least = {std::min(least.x, around.least.x), std::min(least.y, around.least.y)};
      most = {std::max(most.x, around.most.x), std::max(most.y, around.most.y)};
      if (over > kSqueeze) {
        Finding& finding =
            add(Severity::note, id("board-edge"), foot.span, foot.lead_holes.front(),
                fmt::format("'{}' reaches {} over the board's edge; see that there is "
                            "room beside it",
                            part_at(foot.part).name, millimetres(over)));
        finding.part = part_at(foot.part).name;
        source(finding, "reference/shapes, largest sizes", Mark::verified);
      }
      if (foot.height > proof_.height) {
        proof_.height = foot.height;
        proof_.highest = foot.part;
      }
      if (!board_.height || foot.height <= *board_.height + kHair) continue;
      Finding& finding =
          add(Severity::fault, id("board-height"), foot.span, foot.lead_holes.front(),
              fmt::format("'{}' at {} stands {} high, the space is {}; {}",
                          part_at(foot.part).name, name(foot.lead_holes.front()),
                          millimetres(foot.height), millimetres(*board_.height),
                          lower_text(foot)));
      finding.part = part_at(foot.part).name;
      size_figures(finding, "height", foot.height, *board_.height);
    }
    check_side("width", bare_most.x - bare_least.x, most.x - least.x, board_.width,
               board_.depth);
    check_side("depth", bare_most.y - bare_least.y, most.y - least.y, board_.depth,
               board_.width);
  }

  std::string lower_text(const Footprint& foot) const {
    const PartShape& shape = *foot.shape;
    if (foot.is_standing) return "let it lie, its holes farther apart";
    if (!foot.is_flat && shape.form == ShapeForm::row) {
      const double flat = shape.size("before") + shape.size("behind");
      if (flat <= *board_.height + kHair)
        return fmt::format("laid flat (flat = true) it takes {}", millimetres(flat));
    }
    if (!foot.is_flat && shape.form == ShapeForm::radial) {
      const double flat =
          shape.size("diameter") > 0.0 ? shape.size("diameter") : shape.size("depth");
      if (flat <= *board_.height + kHair)
        return fmt::format("laid flat (flat = true) it takes {}", millimetres(flat));
    }
    if (shape.form == ShapeForm::rows)
      return "without its socket it takes 5.33 mm (from memory)";
    return "choose a lower part, put it beside the board, or find more room";
  }

  void size_figures(Finding& finding, std::string quantity, double value,
                    double limit) {
    finding.quantity = std::move(quantity);
    finding.unit = Unit::metre;
    finding.value = value;
    finding.limit = limit;
  }

  void check_side(const char* side, double bare, double whole,
                  const std::optional<double>& room,
                  const std::optional<double>& other_room) {
    if (!room || whole <= *room + kHair) return;
    const bool is_bare = bare > *room + kHair;
    const bool fits_turned = other_room && whole <= *other_room + kHair;
    const Hole at = {board_.rows - 1, board_.columns - 1};
    Finding& finding =
        add(Severity::fault, id("board-size"), board_.span, at,
            fmt::format(
                "the {} of the board is {}{}, the space is {}{}", side,
                millimetres(is_bare ? bare : whole),
                is_bare ? "" : " with what reaches over its edge", millimetres(*room),
                fits_turned ? "; turned by a quarter this side would fit" : ""));
    size_figures(finding, side, is_bare ? bare : whole, *room);
  }

  void check_heat() {
    if (watts_.empty()) return;
    for (const Footprint& warm : proof_.feet) {
      const double watts = watts_[static_cast<std::size_t>(warm.part)];
      if (!warm.body || !(watts > kWarmWatts)) continue;
      for (const Footprint& can : proof_.feet) {
        const Part& part = part_at(can.part);
        if (!can.body || part.kind != KindId::capacitor ||
            !flag(part, "polarised", false))
          continue;
        const double gap = std::max(0.0, apart(*warm.body, *can.body));
        if (gap >= kWarmMetres - kHair) continue;
        Finding& finding =
            add(Severity::caution, id("board-heat"), can.span, can.lead_holes.front(),
                fmt::format(
                    "'{}' at {} stands {} from '{}', which turns {} into heat; 5 mm "
                    "keep it from drying out",
                    part.name, name(can.lead_holes.front()), millimetres(gap),
                    part_at(warm.part).name, format_quantity(watts, Unit::watt)));
        finding.part = part.name;
        size_figures(finding, "distance", gap, kWarmMetres);
        finding.bound = Bound::lower;
        source(finding, "common practice, no source", Mark::practice);
      }
    }
  }

  void check_marks() {
    for (std::size_t a = 0; a < proof_.feet.size(); ++a) {
      const Footprint& one = proof_.feet[a];
      if (!one.body || !one.faces || !is_polarised(part_at(one.part))) continue;
      for (std::size_t b = 0; b < a; ++b) {
        const Footprint& other = proof_.feet[b];
        if (!other.body || !other.faces) continue;
        if (part_at(other.part).kind != part_at(one.part).kind ||
            !is_polarised(part_at(other.part)))
          continue;
        const int turn =
            (static_cast<int>(*one.faces) - static_cast<int>(*other.faces) + 4) % 4;
        const double far = std::hypot(one.body->centre.x - other.body->centre.x,
                                      one.body->centre.y - other.body->centre.y);
        if (turn != 2 || far > kNeighbours) continue;
        Finding& finding =
            add(Severity::note, id("board-marks"), one.span, one.lead_holes.front(),
                fmt::format(
                    "the mark of '{}' at {} points {}, that of its neighbour '{}' at "
                    "{} points {}",
                    part_at(one.part).name, name(one.lead_holes.front()),
                    side_word(*one.faces), part_at(other.part).name,
                    name(other.lead_holes.front()), side_word(*other.faces)));
        finding.part = part_at(one.part).name;
        source(finding, "common practice, no source", Mark::practice);
      }
    }
  }

  void note_islands() {
    const Islands islands = islands_of(board_);
    for (std::size_t net = 0; net < circuit_.nets.size(); ++net) {
      std::map<int, std::vector<Hole>> pieces;
      for (const Stands& s : stands_)
        if (s.net == static_cast<int>(net))
          pieces[islands.root(s.hole)].push_back(s.hole);
      for (auto& [root, holes] : pieces) {
        std::sort(holes.begin(), holes.end());
        proof_.islands.push_back({static_cast<int>(net), std::move(holes)});
      }
    }
  }

  const Circuit& circuit_;
  const Board& board_;
  std::span<const double> watts_;
  BoardProof proof_;
  std::vector<Stands> stands_;
  std::set<int> shorted_;
  std::string short_check_;
};

}  // namespace

BoardProof prove_board(const Circuit& circuit, const Board& board,
                       std::span<const double> watts) {
  return Proof(circuit, board, watts).prove();
}

AreaNeed area_need(const Circuit& circuit, const Board& board) {
  AreaNeed need;
  double area = 0.0;
  for (std::size_t k = 0; k < circuit.parts.size(); ++k) {
    const Part& part = circuit.parts[k];
    const PartShape& shape = *shape_of(part).shape;
    if (board.is_off[k] || shape.form == ShapeForm::loose) {
      area += static_cast<double>(part.pins.size()) * kPitch * kPitch;
      continue;
    }
    // A part takes its body and a pitch beside it.
    const double diameter = shape.size("diameter");
    double width = diameter > 0.0 ? diameter : shape.size("width");
    double depth = shape.size("depth");
    double height = shape.size("height");
    double flat = height;
    switch (shape.form) {
      case ShapeForm::axial:
        width = shape.size("holes") * kPitch;
        depth = height = flat = diameter;
        break;
      case ShapeForm::radial:
        if (diameter > 0.0) depth = diameter;
        flat = depth;
        break;
      case ShapeForm::row:
        depth = flat = shape.size("before") + shape.size("behind");
        break;
      case ShapeForm::rows:
        depth = shape.size("length");
        break;
      default:
        break;
    }
    area += (width + kPitch) * (depth + kPitch);
    if (height > need.height) {
      need.height = height;
      need.highest = static_cast<int>(k);
    }
    need.flat_height = std::max(need.flat_height, std::min(flat, height));
  }
  constexpr double kFilled = 0.5;  // Common practice: parts take half of a board.
  constexpr double kAspect = 4.0 / 3.0;
  need.width = std::sqrt(area / kFilled * kAspect);
  need.depth = need.width / kAspect;
  return need;
}

std::span<const Explanation> explain_board() { return kExplained; }

}  // namespace benchproof
