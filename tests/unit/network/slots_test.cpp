#include "core/network/slots.h"

#include <catch2/catch.hpp>
#include <memory>
#include <string>
#include <vector>

#include "tests/truth/hand_network.h"

using namespace benchproof;

namespace {

/// Two elements of every other list, so that some lists are empty.
Network some() {
  test::HandNetwork hand(4);
  hand.resistor(1, 0, 100.0);
  hand.resistor(2, 0, 200.0);
  hand.inductor(1, 2, 1e-3);
  hand.voltage_source(1, 0, 5.0);
  hand.diode(1, 2, {});
  hand.diode(2, 3, {});
  hand.mosfet(1, 2, 0, {});
  hand.regulator(1, 0, 3, {});
  return hand.network();
}

}  // namespace

TEST_CASE("every slot has a place, and every place a slot", "[network][slots]") {
  const Network network = some();
  const SlotOrder order(*network.structure);
  std::vector<Slot> slots;
  Values values = network.values;
  for_slots(values, values, [&](const Slot& slot, double&, double&) {
    CAPTURE(name_of(slot));
    CHECK(order.place_of(slot) == slots.size());
    CHECK(order.slot_at(slots.size()) == slot);
    slots.push_back(slot);
  });
  CHECK(slots.size() == order.size());
  // Two resistances; a coil's three numbers; a source; twice nine of the diodes; four
  // of the MOS transistor; seven of the regulator.
  CHECK(order.size() == 2 + 3 + 1 + 2 * 9 + 6 + 7);
}

TEST_CASE("a slot is a number of the values, and has its name", "[network][slots]") {
  Network network = some();
  const Slot ohms{ValueList::ohms, 1, 0};
  CHECK(value_at(network.values, ohms) == 200.0);
  value_at(network.values, ohms) = 300.0;
  CHECK(network.values.ohms[1] == 300.0);
  CHECK(name_of(ohms) == "ohms[1]");

  const Slot rs{ValueList::diodes, 1, 2};
  value_at(network.values, rs) = 0.5;
  CHECK(network.values.diodes[1].rs == 0.5);
  CHECK(network.values.diodes[0].rs == 0.0);
  CHECK(name_of(rs) == "diodes[1].rs");
  CHECK(slots_each(ValueList::diodes) == 9);
  CHECK(slots_each(ValueList::amps) == 1);
}
