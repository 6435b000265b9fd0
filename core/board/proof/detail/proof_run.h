#pragma once

#include <fmt/format.h>

#include <map>
#include <set>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include "core/board/places/islands.h"
#include "core/board/proof/detail/explanations.h"
#include "core/board/proof/proof.h"

namespace benchproof {

/// "2.54 mm", to a hundredth.
[[nodiscard]] std::string in_millimetres(double metres);

/// What stands in a hole: a pin, or a leg that no pin names.
struct Stands {
  std::size_t foot = 0;
  int lead = 0;
  int pin = -1;
  Hole hole;
  /// The net, or a number of its own below -1 for what stands alone.
  int net = -1;
};

/// One proof of a board: its checks, each group of them in a file of its own.
class Proof {
 public:
  Proof(const Circuit& circuit, const Board& board, std::span<const double> watts)
      : circuit_(circuit), board_(board), watts_(watts), islands_(islands_of(board)) {}

  BoardProof prove();

 private:
  const Part& part_at(int index) const;
  std::string name(Hole hole) const { return hole_name(board_, hole); }
  std::string pin_text(const Stands& s) const;
  std::string net_text(int net) const;
  Finding& add(Severity severity, CheckId check, const Span& span, Hole hole,
               std::string message);
  void source(Finding& finding, std::string text, Mark mark);
  void size_figures(Finding& finding, std::string quantity, double value, double limit);

  // Whether every part is there, and can stand so: proof_places.cpp.
  void check_missing();
  void check_places();
  static std::string legs_text(const Part& part, const Leads& leads);

  // Parts whose leads, or who themselves, stand in each other's holes:
  // proof_turned.cpp. The other checks then take them as they were meant to stand.
  /// What shares an island with a lead, its own part's leads left out.
  struct Company {
    int island = 0;
    std::vector<std::size_t> others;  ///< Of stands_.
  };
  /// Gathers company_, anew whenever leads were taken to stand elsewhere.
  void gather_company();
  /// How many leads would meet another net if each stood in the hole of another (both
  /// of stands_); `fits` counts those that would meet their own.
  std::size_t misfits(const std::vector<std::size_t>& leads,
                      const std::vector<std::size_t>& holes,
                      std::size_t* fits = nullptr) const;
  void check_turned();
  /// Tells of a part whose leads would all meet their nets in each other's holes, in
  /// the first of `ways` that does; of a turn of the whole part that is the first one.
  void turn(const std::vector<std::size_t>& leads,
            const std::vector<std::vector<std::size_t>>& ways, bool is_turn = true);
  void check_exchanged(const std::vector<std::size_t>& a,
                       const std::vector<std::size_t>& b);
  /// Tells of a part that would meet all of its nets a hole farther.
  bool check_beside(const std::vector<std::size_t>& leads);
  void tell_turned(const Footprint& foot, const std::vector<std::size_t>& leads,
                   const std::vector<std::size_t>& holes, bool is_turned);
  void stand_as_meant(const std::vector<std::size_t>& leads,
                      const std::vector<std::size_t>& holes);

  // Holes, bridges, wires, jumpers, cuts: proof_joins.cpp.
  void check_holes();
  void check_joins();
  void check_jumper(const Join& join);
  void check_cuts();

  // Joints against the nets: proof_nets.cpp.
  /// Joins holes link by link. The link that first makes two nets one is told.
  void check_shorts();
  /// The lead of a net in a list that is nearest to a hole.
  const Stands& nearest_lead(const std::vector<std::size_t>& leads, int net,
                             Hole hole) const;
  void tell_short(const Link& link, int first, int second,
                  const std::vector<std::size_t>& leads_a,
                  const std::vector<std::size_t>& leads_b);
  std::string row_text(Hole hole) const;
  /// The hole in which a join that makes two nets one meets the net that it is not of.
  Hole wrong_end(const Link& link, int first, const Stands& one, int second,
                 const Stands& other) const;
  Islands islands_without(int join) const;
  /// Whether a net lies in pieces, without a join if one is told.
  bool is_open(int net, int without = -1) const;
  void check_opens();
  /// "; nearest: B13 to B14": the holes at which two pieces are nearest to each other.
  std::string gap_text(const std::vector<Hole>& piece,
                       const std::vector<Hole>& other) const;

  // Bodies, space, heat, marks: proof_bodies.cpp.
  void check_bodies();
  /// Whether a hole lies under a body, so that no other lead goes through it.
  bool is_under(const Footprint& foot, Hole hole) const;
  /// The hole of a lead of either that is nearest to where two bodies meet.
  Hole between(const Footprint& one, const Footprint& other) const;
  void tell_meeting(const Footprint& one, const Footprint& other, Hole at);
  void check_space();
  std::string lower_text(const Footprint& foot) const;
  void check_side(const char* side, double bare, double whole,
                  const std::optional<double>& room,
                  const std::optional<double>& other_room);
  void check_heat();
  void check_marks();

  void gather();
  void note_islands();

  const Circuit& circuit_;
  const Board& board_;
  std::span<const double> watts_;
  Islands islands_;  ///< By the board's copper and all joins.
  BoardProof proof_;
  std::vector<Stands> stands_;
  std::vector<Company> company_;  ///< Of each of stands_.
  std::set<int> shorted_;
  std::set<int> beside_;  ///< Nets of parts that stand a hole beside their place.
  std::string short_check_;
};

}  // namespace benchproof
