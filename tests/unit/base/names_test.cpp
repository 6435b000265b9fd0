#include <catch2/catch.hpp>
#include <filesystem>
#include <fstream>
#include <map>
#include <regex>
#include <string>
#include <vector>

namespace fs = std::filesystem;

// Two types of one name in the namespace of the project are two definitions of one type
// to the linker, which takes the destructor of either for both: [basic.def.odr] of the
// C++ standard. No compiler complains; what comes of it is chance.
TEST_CASE("no two headers define a type of the same name", "[base][names]") {
  const std::regex definition(
      R"(^(?:struct|class|enum class|enum) ([A-Z]\w*)(?: final)?(?: :[^:].*)? \{)");
  std::map<std::string, std::vector<std::string>> where;
  const fs::path root = BENCHPROOF_SOURCE_DIR;
  for (const char* folder : {"core", "spice", "cli"}) {
    for (const auto& entry : fs::recursive_directory_iterator(root / folder)) {
      if (entry.path().extension() != ".h") continue;
      std::ifstream file(entry.path());
      std::string space;
      for (std::string line; std::getline(file, line);) {
        if (line.starts_with("namespace ")) space = line;
        std::smatch match;
        if (std::regex_search(line, match, definition))
          where[space + match[1].str()].push_back(entry.path().string());
      }
    }
  }
  CHECK(where.size() > 100);
  for (const auto& [name, files] : where) {
    CAPTURE(name, files);
    CHECK(files.size() == 1);
  }
}
