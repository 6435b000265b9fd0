#include "core/order/shape_notes.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>

#include "core/board/places/footprint.h"
#include "core/circuit/topology.h"

namespace benchproof {
namespace {

std::string millimetres(double metres) {
  return fmt::format("{:.4g} mm", std::round(metres * 1e5) / 1e2);
}

/// "1 out, 2 common, 3 in".
std::string leads_text(const Part& part, const Leads& leads) {
  std::vector<std::string> texts;
  for (std::size_t lead = 0; lead < leads.pin_of_lead.size(); ++lead) {
    const int pin = leads.pin_of_lead[lead];
    if (pin >= 0)
      texts.push_back(fmt::format("{} {}", lead + 1, part.pins[std::size_t(pin)]));
  }
  return fmt::format("{}", fmt::join(texts, ", "));
}

/// What shows how it goes in; empty where it may go in either way.
std::string mark_text(const Part& part, const PartShape& shape, const Leads& leads) {
  const bool is_known = !leads.is_assumed;
  switch (shape.form) {
    case ShapeForm::axial:
      return is_polarised(part) ? shape.mark : "";
    case ShapeForm::radial:
      if (part.kind == KindId::capacitor && is_polarised(part))
        return "polarised, " + shape.mark + " (on a tantalum bead the mark is plus)";
      // Plain capacitors, beads and cells have nothing to be told apart by.
      return shape.mark.starts_with("no polarity") ? "" : shape.mark;
    case ShapeForm::row:
      return is_known ? fmt::format(
                            "{}: with it towards you, leads down, from the "
                            "left {}",
                            shape.mark, leads_text(part, leads))
                      : fmt::format("{}; see its sheet for the order of its leads",
                                    shape.mark);
    case ShapeForm::rows:
      return fmt::format(
          "leg 1 at the dot, or left of the notch; legs count down from it and up on "
          "the other side{}",
          is_known ? ": " + leads_text(part, leads)
                   : "; see its sheet for their names");
    case ShapeForm::triangle:
      return shape.mark;
    case ShapeForm::loose:
      break;
  }
  return {};
}

/// How much room it takes, as it stands and as it lies.
std::string room_text(const PartShape& shape) {
  const double diameter = shape.size("diameter");
  switch (shape.form) {
    case ShapeForm::axial:
      return fmt::format(
          "lies in holes {:.0f} apart or more, {} high; standing on end "
          "{}",
          shape.size("holes"), millimetres(diameter),
          millimetres(standing_height(shape)));
    case ShapeForm::radial: {
      const double depth = diameter > 0.0 ? diameter : shape.size("depth");
      const double wide = diameter > 0.0 ? diameter : shape.size("width");
      return fmt::format("{} wide, {} high, laid flat {}", millimetres(wide),
                         millimetres(shape.size("height")), millimetres(depth));
    }
    case ShapeForm::row:
      return fmt::format("{} high, laid flat {}", millimetres(shape.size("height")),
                         millimetres(shape.size("before") + shape.size("behind")));
    case ShapeForm::rows:
      return fmt::format("{} high in its socket", millimetres(shape.size("height")));
    case ShapeForm::triangle:
      return fmt::format("{} high", millimetres(shape.size("height")));
    case ShapeForm::loose:
      break;
  }
  return {};
}

}  // namespace

std::vector<BuyersNote> shape_notes(const Circuit& circuit, const OrderLine& line) {
  std::vector<BuyersNote> notes;
  const auto add = [&notes](std::string note) {
    if (std::find(notes.begin(), notes.end(), note) == notes.end())
      notes.push_back(std::move(note));
  };
  for (const int index : line.parts) {
    const Part& part = circuit.parts[static_cast<std::size_t>(index)];
    const ChosenShape chosen = shape_of(part);
    const PartShape& shape = *chosen.shape;
    if (shape.form == ShapeForm::loose) continue;
    const Leads leads = leads_of(part, shape);
    const std::string mark = mark_text(part, shape, leads);
    add(fmt::format("{}{}: {}{}{}", shape.name, chosen.is_assumed ? " as usual" : "",
                    mark, mark.empty() ? "" : "; ", room_text(shape)));
    if (!leads.differs.empty()) add("makers differ: " + leads.differs);
  }
  return notes;
}

}  // namespace benchproof
