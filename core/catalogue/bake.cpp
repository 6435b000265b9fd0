// Run by the build: reads and fits the data files and prints the source of
// baked_types(). Bad data ends the build with file and line.

#include <fmt/format.h>

#include <cmath>
#include <exception>
#include <functional>
#include <iostream>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "core/base/quantity.h"
#include "core/catalogue/catalogue.h"
#include "core/catalogue/detail/data_files.h"
#include "core/catalogue/read/read_types.h"

namespace benchproof {
namespace {

/// A double that the compiler reads back as the same one.
std::string number(double value) {
  if (std::isnan(value)) return "std::numeric_limits<double>::quiet_NaN()";
  if (std::isinf(value)) {
    return value > 0.0 ? "std::numeric_limits<double>::infinity()"
                       : "-std::numeric_limits<double>::infinity()";
  }
  return shortest(value);
}

/// A string literal.
std::string text(std::string_view bytes) {
  std::string literal = "\"";
  for (const char c : bytes) {
    const auto code = static_cast<unsigned char>(c);
    if (c == '"' || c == '\\') {
      literal += {'\\', c};
    } else if (code < 0x20 || code >= 0x7F) {
      literal += fmt::format("\\{:03o}", code);
    } else {
      literal += c;
    }
  }
  return literal + "\"";
}

template <typename Enum>
std::string constant(const char* type, Enum value) {
  return fmt::format("static_cast<{}>({})", type, static_cast<int>(value));
}

std::string number(std::optional<double> value) {
  return value ? number(*value) : "std::nullopt";
}

std::string model(const DiodeModel& m) {
  return fmt::format("DiodeModel{{{}, {}, {}, {}, {}, {}, {}, {}, {}, {}}}",
                     number(m.is), number(m.n), number(m.rs), number(m.bv),
                     number(m.ibv), number(m.nbv), number(m.eg), number(m.xti),
                     number(m.tnom), number(m.cjo));
}

std::string model(const BipolarModel& m) {
  return fmt::format(
      "BipolarModel{{{}, {}, {}, {}, {}, {}, {}, {}, {}, {}, {}, {}, {}, {}}}",
      m.is_pnp, number(m.is), number(m.bf), number(m.br), number(m.nf), number(m.nr),
      number(m.vaf), number(m.ikf), number(m.eg), number(m.xti), number(m.tnom),
      number(m.rc), number(m.cje), number(m.cjc));
}

std::string model(const MosModel& m) {
  return fmt::format("MosModel{{{}, {}, {}, {}, {}, {}, {}, {}, {}, {}, {}}}",
                     m.is_p_channel, number(m.vto), number(m.kp), number(m.lambda),
                     number(m.rd), number(m.rs), number(m.tnom),
                     m.body ? model(*m.body) : "std::nullopt", number(m.cgs),
                     number(m.cgd), number(m.cds));
}

std::string model(std::monostate) { return "std::monostate{}"; }

/// `items` as an array called `name`, and the span that stands for it.
struct Array {
  std::string definition;
  std::string span;
};
Array array(const std::string& type, const std::string& name,
            const std::string& items) {
  if (items.empty()) return {"", "{}"};
  return {fmt::format("constexpr {} {}[] = {{\n{}}};\n", type, name, items), name};
}

Array array_of(const std::vector<ForwardPoint>& points, const std::string& name) {
  std::string items;
  for (const ForwardPoint& p : points)
    items += fmt::format("    {{{}, {}, {}, {}}},\n", number(p.amps), number(p.volts),
                         constant("Mark", p.mark), text(p.source));
  return array("BakedPoint", name, items);
}

/// Each curve as an array of its own, and their list.
Array array_of(const std::map<std::string, FigureCurve, std::less<>>& curves,
               int count) {
  std::string definitions;
  std::string items;
  for (const auto& [key, curve] : curves) {
    std::string points;
    for (const CurvePoint& p : curve)
      points +=
          fmt::format("    {{{}, {}, {}, {}, {}}},\n", number(p.at), number(p.beside),
                      number(p.value), constant("Mark", p.mark), text(p.source));
    const Array one =
        array("BakedCurvePoint", fmt::format("kCurve{}_{}", count, key), points);
    definitions += one.definition;
    items += fmt::format("    {{{}, {}}},\n", text(key), one.span);
  }
  Array all = array("BakedCurve", fmt::format("kCurves{}", count), items);
  all.definition = definitions + all.definition;
  return all;
}

void print(const Catalogue& catalogue) {
  std::cout << "// Written by bake.cpp from reference/parts/.\n"
               "#include <limits>\n#include <optional>\n\n"
               "#include \"core/catalogue/detail/baked.h\"\n\n"
               "namespace benchproof {\nnamespace {\n\n";
  std::string types;
  int count = 0;
  for (const Type& type : catalogue.types()) {
    std::string figures;
    for (const auto& [key, f] : type.figures) {
      figures += fmt::format("    {{{}, {}, {}, {}, {}, {}, {}}},\n", text(key),
                             number(f.value), constant("Unit", f.unit),
                             constant("Mark", f.mark), text(f.source),
                             text(f.condition), f.is_typical);
    }
    std::string words;
    for (const auto& [key, value] : type.words) {
      words += fmt::format("    {{{}, {}}},\n", text(key), text(value));
    }
    const Array f = array("BakedFigure", fmt::format("kFigures{}", count), figures);
    const Array w = array("BakedWord", fmt::format("kWords{}", count), words);
    const Array p = array_of(type.points, fmt::format("kPoints{}", count));
    const Array l = array_of(type.points_least, fmt::format("kLeast{}", count));
    const Array m = array_of(type.points_most, fmt::format("kMost{}", count));
    const Array c = array_of(type.curves, count);
    std::cout << f.definition << w.definition << p.definition << l.definition
              << m.definition << c.definition;
    types += fmt::format(
        "    {{{}, {}, {}, {}, {}, {}, {}, {}, {}}},\n", text(type.name),
        constant("KindId", type.kind), f.span, w.span, p.span, l.span, m.span, c.span,
        std::visit([](const auto& known) { return model(known); }, type.model));
    ++count;
  }
  std::cout << "\nconstexpr BakedType kTypes[] = {\n"
            << types << "};\n\n"
            << "}  // namespace\n\n"
               "std::span<const BakedType> baked_types() { return kTypes; }\n\n"
               "}  // namespace benchproof\n";
}

}  // namespace
}  // namespace benchproof

int main() {
  try {
    benchproof::print(benchproof::read_catalogue(benchproof::data_files()));
    return std::cout.flush() ? 0 : 1;
  } catch (const std::exception& error) {
    std::cerr << error.what() << '\n';
    return 1;
  }
}
