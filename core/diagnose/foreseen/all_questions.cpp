#include <algorithm>
#include <string>
#include <utility>
#include <vector>

#include "core/circuit/topology.h"
#include "core/diagnose/foreseen/predictions.h"

namespace benchproof {
namespace {

bool can_be_seen(KindId kind) { return kind == KindId::led || is_load(kind); }

/// Collects the questions of a circuit.
class Gathering {
 public:
  explicit Gathering(const Circuit& circuit) : circuit_(circuit) {
    for (const Part& part : circuit.parts)
      if (part.kind == KindId::controller) chips_.push_back(part.name);
  }

  std::vector<Question> gather() && {
    for (const State& state : circuit_.states)
      if (state.steady) powered(state.name);
    unpowered({});
    if (!chips_.empty()) unpowered(chips_);
    return std::move(questions_);
  }

 private:
  void ask(Question question) {
    if (std::find(questions_.begin(), questions_.end(), question) == questions_.end())
      questions_.push_back(std::move(question));
  }

  /// The zero that a net's voltages are measured against: empty for ground.
  [[nodiscard]] std::string zero_of(int net) const {
    const auto zero = zeros_.find(net);
    return zero == zeros_.end() ? std::string() : circuit_.nets[zero->second].name;
  }

  /// Nets that hang together by parts with the zero of a group of their own.
  static std::map<int, int> zeros_of(const Circuit& circuit) {
    std::map<int, int> zeros;
    for (const LocalZero& zero : circuit.local_zeros) {
      std::vector<int> todo{zero.net};
      zeros[zero.net] = zero.net;
      while (!todo.empty()) {
        const int net = todo.back();
        todo.pop_back();
        for (const PinRef& pin : circuit.nets[net].pins)
          for (const int next : circuit.parts[pin.part].nets)
            if (next > 0 && zeros.try_emplace(next, zero.net).second)
              todo.push_back(next);
      }
    }
    return zeros;
  }

  void powered(const std::string& state) {
    Question question;
    question.state = state;
    question.asks = Asks::looks;
    for (const Part& part : circuit_.parts) {
      if (!can_be_seen(part.kind)) continue;
      question.part = part.name;
      ask(question);
    }
    question.part.clear();
    question.asks = Asks::voltage;
    for (std::size_t net = 1; net < circuit_.nets.size(); ++net) {
      question.net = circuit_.nets[net].name;
      question.to = zero_of(static_cast<int>(net));
      if (question.to != question.net) ask(question);
    }
    question.net.clear();
    question.to.clear();
    question.asks = Asks::current;
    for (const Part& part : circuit_.parts) {
      if (!is_source(part.kind) || part.nets[0] < 0 || part.nets[1] < 0) continue;
      question.part = part.name;
      ask(question);
    }
  }

  void between(Question question, int net, int to) {
    if (net < 0 || to < 0 || net == to) return;
    if (net == 0) {
      if (question.asks == Asks::resistance) std::swap(net, to);
    }
    question.net = circuit_.nets[net].name;
    question.to = to == 0 ? std::string() : circuit_.nets[to].name;
    ask(std::move(question));
  }

  [[nodiscard]] bool has_chip(int net) const {
    const std::vector<PinRef>& pins = circuit_.nets[net].pins;
    return std::any_of(pins.begin(), pins.end(), [this](const PinRef& pin) {
      return circuit_.parts[pin.part].kind == KindId::controller;
    });
  }

  void unpowered(const std::vector<std::string>& out) {
    Question question;
    question.powered = false;
    question.out = out;
    question.asks = Asks::resistance;
    // Past a chip in its socket nothing can be told but that a rail is shorted.
    const bool is_past_chips = !out.empty() || chips_.empty();
    for (std::size_t k = 1; k < circuit_.nets.size(); ++k) {
      const auto net = static_cast<int>(k);
      if (is_past_chips || is_rail(circuit_, net) || !has_chip(net))
        between(question, net, 0);
    }
    if (!is_past_chips) return;
    for (const Part& part : circuit_.parts) {
      if (is_passage(part.kind) || part.kind == KindId::switch_)
        between(question, part.nets[0], part.nets[1]);
      if (part.kind == KindId::trimmer) {
        between(question, part.nets[0], part.nets[1]);
        between(question, part.nets[1], part.nets[2]);
      }
    }
    question.asks = Asks::diode;
    for (const Part& part : circuit_.parts) junctions(question, part);
  }

  void junctions(const Question& question, const Part& part) {
    const auto forward = [&](int anode, int cathode) {
      between(question, part.nets[anode], part.nets[cathode]);
    };
    switch (part.kind) {
      case KindId::diode:
      case KindId::zener:
      case KindId::led:
        forward(0, 1);
        return forward(1, 0);
      case KindId::transistor: {
        const bool is_npn = polarity(part) > 0.0;
        for (const int end : {1, 2}) is_npn ? forward(0, end) : forward(end, 0);
        return;
      }
      case KindId::mosfet:
        return polarity(part) > 0.0 ? forward(2, 1) : forward(1, 2);
      default:
        return;
    }
  }

  const Circuit& circuit_;
  std::map<int, int> zeros_ = zeros_of(circuit_);
  std::vector<std::string> chips_;
  std::vector<Question> questions_;
};

}  // namespace

std::vector<Question> all_questions(const Circuit& circuit) {
  return Gathering(circuit).gather();
}

}  // namespace benchproof
