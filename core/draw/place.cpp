#include "core/draw/detail/laying.h"

namespace benchproof {

Diagram Laying::diagram() {
  find_places();
  anchor_side_pins();
  choose_hosts();
  measure_items();
  share_columns();
  place_columns();
  find_attachments();
  choose_bands();
  place_rows();
  return drawn();
}

Diagram lay_out(const Circuit& circuit, const DiagramNeeds& needs) {
  Items items = make_items(circuit);
  const Order order = make_order(circuit, items, needs.levels);
  return Laying(circuit, items, order, needs).diagram();
}

}  // namespace benchproof
