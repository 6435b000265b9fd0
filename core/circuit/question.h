#pragma once

#include <string>
#include <vector>

namespace benchproof {

/// What is asked for.
enum class Asks { voltage, current, resistance, diode, looks };

/// How a part looks, or sounds.
enum class Looks {
  dark,
  dim,
  as_meant,
  too_bright,
  flickers,
  hot,
  still,   ///< A motor.
  runs,    ///< A motor.
  clicks,  ///< A relay that has pulled in.
  sounds,  ///< A buzzer. Still: one that is silent, a relay that has not pulled in.
};

/// One reading that can be taken: plain data, names as in the description.
struct Question {
  /// Powered: the state. With the power off: whose switches and values are meant; empty
  /// for all switches open.
  std::string state;
  bool powered = true;
  std::vector<std::string> out;  ///< Parts that are out of their sockets.
  Asks asks = Asks::voltage;
  std::string net;   ///< Of a voltage, a resistance, a diode test (the plus lead).
  std::string to;    ///< The other lead; empty for ground.
  std::string part;  ///< Of a current or of looks.
  std::string pin;   ///< Of a current; empty: the part's first.
  friend bool operator==(const Question&, const Question&) = default;
};

/// What something makes a question show.
struct Shown {
  bool open = false;   ///< The meter shows "open", or past its range.
  double value = 0.0;  ///< Volt, ampere, ohm; not a number where nothing can be told.
  /// One standard deviation, from the spread of copies and from the meter. Same unit.
  double sigma = 0.0;
  Looks looks = Looks::as_meant;
  /// How probable it is that an eye says so: 1 where it is plain.
  double looks_sure = 1.0;
};

}  // namespace benchproof
