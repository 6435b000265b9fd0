#pragma once

#include <cmath>
#include <cstdlib>
#include <functional>
#include <stdexcept>
#include <string>
#include <string_view>

namespace benchproof::test {

/// Evaluates a behavioural source's expression: + - * / with the usual ranks, brackets,
/// (a>b)?(c):(d), sqrt and tanh, numbers, v(node) and i(source), which `ask` tells
/// ("v(n3)").
class Expression {
 public:
  Expression(std::string_view text, std::function<double(const std::string&)> ask)
      : text_(text), ask_(std::move(ask)) {}

  double value() {
    const double result = choice();
    if (at_ != text_.size()) fail();
    return result;
  }

 private:
  [[noreturn]] void fail() const {
    throw std::runtime_error("no expression at '" + std::string(text_.substr(at_)) +
                             "'");
  }
  [[nodiscard]] char next() const { return at_ < text_.size() ? text_[at_] : '\0'; }
  bool take(char c) {
    if (next() != c) return false;
    ++at_;
    return true;
  }
  void need(char c) {
    if (!take(c)) fail();
  }

  double choice() {
    double left = sum();
    if (take('>')) left = left > sum() ? 1.0 : 0.0;
    if (!take('?')) return left;
    const double yes = factor();
    need(':');
    const double no = factor();
    return left != 0.0 ? yes : no;
  }
  double sum() {
    double left = product();
    for (;;) {
      if (take('+')) {
        left += product();
      } else if (take('-')) {
        left -= product();
      } else {
        return left;
      }
    }
  }
  double product() {
    double left = factor();
    for (;;) {
      if (take('*')) {
        left *= factor();
      } else if (take('/')) {
        left /= factor();
      } else {
        return left;
      }
    }
  }
  double factor() {
    if (take('-')) return -factor();
    if (take('(')) {
      const double inner = choice();
      need(')');
      return inner;
    }
    if (next() >= 'a' && next() <= 'z') return call();
    const std::string rest(text_.substr(at_));
    char* end = nullptr;
    const double number = std::strtod(rest.c_str(), &end);
    if (end == rest.c_str()) fail();
    at_ += static_cast<std::size_t>(end - rest.c_str());
    return number;
  }
  double call() {
    const std::size_t open = text_.find('(', at_);
    if (open == std::string_view::npos) fail();
    const std::string name(text_.substr(at_, open - at_));
    at_ = open + 1;
    if (name == "v" || name == "i") {
      const std::size_t close = text_.find(')', at_);
      if (close == std::string_view::npos) fail();
      const std::string what(text_.substr(at_, close - at_));
      at_ = close + 1;
      return ask_(name + "(" + what + ")");
    }
    const double inner = sum();
    need(')');
    if (name == "sqrt") return std::sqrt(inner);
    if (name == "tanh") return std::tanh(inner);
    fail();
  }

  std::string_view text_;
  std::function<double(const std::string&)> ask_;
  std::size_t at_ = 0;
};

}  // namespace benchproof::test
