#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <catch2/catch.hpp>
#include <chrono>
#include <filesystem>
#include <map>
#include <nlohmann/json.hpp>
#include <sstream>
#include <string>
#include <thread>
#include <vector>

#include "folder.h"
#include "program.h"
#include "screen.h"
#include "tests/files.h"

using namespace benchproof;
using Catch::Contains;
using Catch::Matchers::WithinRel;
using Json = nlohmann::json;

namespace {

namespace fs = std::filesystem;

// An invented jetty: two lamps on 5 V, one of them dimmed in a variant.
const std::string kJetty = R"(
[parts]
jack = { kind = "dc-supply", voltage = "5 V", current = "500 mA" }
r1 = { kind = "resistor", value = "330R", power = "0.25 W" }
l1 = { kind = "led", colour = "red" }
r2 = { kind = "resistor", value = "470R", power = "0.25 W" }
l2 = { kind = "led", colour = "green" }
[nets]
inlet  = ["jack.plus", "r1.a", "r2.a"]
lamp1  = ["r1.b", "l1.anode"]
lamp2  = ["r2.b", "l2.anode"]
ground = ["jack.minus", "l1.cathode", "l2.cathode"]
[variants.dim]
"r1.value" = "680R"
[[expect]]
part = "l1"
current = { min = "3 mA", max = "12 mA" }
source = "invented for this test"
)";

/// A library of so many jetties of different values.
void fill(const Folder& folder, int count) {
  for (int k = 0; k < count; ++k)
    folder.file(fmt::format("jetty-{:03}.toml", k),
                with(kJetty, "470R", fmt::format("{}R", 470 + k)));
}

/// The program with a worker of which a shell script decides how it lives.
class OddProgram {
 public:
  explicit OddProgram(const std::string& script) {
    const fs::path bin = bin_dir();
    fs::copy_file(bin / "benchproof", path());
    fs::create_symlink(bin / "benchproof-worker", folder_.path() + "/real-worker");
    const std::string worker =
        folder_.file("benchproof-worker", "#!/bin/bash\nhere=" + folder_.path() +
                                              "\necho >>$here/starts\n" + script +
                                              "\nexec $here/real-worker \"$@\"\n");
    fs::permissions(worker, fs::perms::owner_all);
  }
  [[nodiscard]] std::string path() const { return folder_.path() + "/benchproof"; }
  /// How many workers were started.
  [[nodiscard]] long starts() const {
    const std::string log = text_of(folder_.path() + "/starts");
    return std::count(log.begin(), log.end(), '\n');
  }

 private:
  Folder folder_;
};

}  // namespace

TEST_CASE("the templates are as they were recorded, the demo included",
          "[program][regress]") {
  const Ran ran = run_program({"regress", "circuits", "--all"});
  INFO(ran.out);
  CHECK(ran.status == 0);
  const Json json = json_of({"regress", "circuits"});
  CHECK(json["summary"]["circuits"].get<int>() > 1);
  for (const Json& circuit : json["circuits"]) {
    INFO(circuit["file"]);
    CHECK(circuit["recording"] == "compared");
  }
}

TEST_CASE("a library passes, is recorded, and stays", "[program][regress]") {
  const Folder folder;
  fill(folder, 3);
  const std::string record = folder.path() + "/jetty-001.recorded.toml";
  Ran ran = run_program({"regress", folder.path()});
  CHECK(ran.status == 0);
  CHECK(ran.err.empty());
  CHECK_THAT(ran.out, Contains("3 of 3 circuits passed: 6 states with 3 variants") &&
                          Contains("no results are recorded") &&
                          Contains("6 of 6 expectations rest on published values"));
  check_columns(ran.out);

  ran = run_program({"regress", folder.path(), "--record"});
  CHECK(ran.status == 0);
  CHECK_THAT(ran.out, Contains("3 records written"));
  const std::string before = text_of(record);
  CHECK_THAT(before, Contains("variant = \"dim\""));

  ran = run_program({"regress", folder.path(), "--record"});
  CHECK_THAT(ran.out, !Contains("written"));
  CHECK(text_of(record) == before);

  ran = run_program({"regress", folder.path()});
  CHECK(ran.status == 0);
  CHECK_THAT(ran.out, Contains("3 circuits held against recorded results"));
}

TEST_CASE("one changed value fails exactly there", "[program][regress]") {
  const Folder folder;
  fill(folder, 3);
  REQUIRE(run_program({"regress", folder.path(), "--record"}).status == 0);
  folder.file("jetty-001.toml", with(with(kJetty, "470R", "471R"), "680R", "620R"));
  const Ran ran = run_program({"regress", folder.path()});
  CAPTURE(ran.out);
  CHECK(ran.status == 1);
  check_columns(ran.out);
  CHECK_THAT(ran.out, Contains("jetty-001.toml\n  variant 'dim', state 'steady':") &&
                          Contains("'l1' was 4.") &&
                          Contains("2 of 3 circuits passed"));
  CHECK_THAT(ran.out, !Contains("lamp2") && !Contains("jetty-000.toml\n"));

  const Json json = json_of({"regress", folder.path()});
  CHECK(json["passed"] == false);
  CHECK(json["status"] == 1);
  for (const Json& circuit : json["circuits"])
    CHECK(circuit["passed"] == (circuit["file"] != folder.path() + "/jetty-001.toml"));
  const Json& cases = json["circuits"][1]["cases"];
  REQUIRE(cases.size() == 2);
  CHECK(cases[0]["passed"] == true);
  CHECK(cases[1]["variant"] == "dim");
  // Ohm's law to a few per cent: (5 V - 1.9 V) over 620 and 680 ohm.
  std::map<std::string, Json> moved;
  for (const Json& each : cases[1]["moved"]) moved[each["what"]] = each;
  const Json& current = moved.at("current into 'r1'");
  CHECK(current["unit"] == "A");
  CHECK_THAT(current["was"].get<double>(), WithinRel(3.1 / 680, 0.05));
  CHECK_THAT(current["is"].get<double>(), WithinRel(3.1 / 620, 0.05));
}

TEST_CASE("a tolerance set in a record counts and is kept", "[program][regress]") {
  const Folder folder;
  const std::string file = folder.file("jetty.toml", kJetty);
  const std::string record = folder.path() + "/jetty.recorded.toml";
  REQUIRE(run_program({"regress", file, "--record"}).status == 0);
  folder.file("jetty.recorded.toml",
              with(text_of(record), "relative = 0.0001", "relative = 0.2"));
  folder.file("jetty.toml", with(kJetty, "680R", "620R"));
  CHECK(run_program({"regress", file}).status == 0);
  REQUIRE(run_program({"regress", file, "--record"}).status == 0);
  CHECK_THAT(text_of(record), Contains("relative = 0.2"));
}

TEST_CASE("trouble with one circuit leaves the others alone", "[program][regress]") {
  const Folder folder;
  fill(folder, 4);
  REQUIRE(run_program({"regress", folder.path(), "--record"}).status == 0);
  fs::create_symlink("nowhere", folder.path() + "/lost.toml");
  folder.file("bad.toml", with(kJetty, "\"led\"", "\"lead\""));
  folder.file("jetty-002.recorded.toml", "benchproof = 1\n[[case]]\nstate = 3\n");
  folder.file("burning.toml", with(kJetty, "330R", "22R"));
  folder.file("my-parts.toml",
              "[sources]\ns = \"a sheet\"\n[[type]]\nkind = \"resistor\"\n");
  const Ran ran = run_program({"regress", folder.path()});
  CAPTURE(ran.out);
  CHECK(ran.status == 2);
  CHECK_THAT(ran.out,
             Contains("lost.toml: error: cannot be opened") &&
                 Contains("bad.toml:5:15: error: there is no kind 'lead'") &&
                 Contains("jetty-002.recorded.toml:3:9") && Contains("[led-current]") &&
                 Contains("3 of 7 circuits passed") && !Contains("my-parts.toml"));
  // No record is written of a circuit that does not pass.
  const Ran again = run_program({"regress", folder.path(), "--record"});
  CHECK(again.status == 2);
  CHECK_FALSE(fs::exists(folder.path() + "/burning.recorded.toml"));
  CHECK_FALSE(fs::exists(folder.path() + "/bad.recorded.toml"));
  // A record that could not be read is not overwritten.
  CHECK_THAT(text_of(folder.path() + "/jetty-002.recorded.toml"),
             Contains("state = 3"));
}

TEST_CASE("a file system that takes no more loses nothing", "[program][regress]") {
  const Folder folder;
  fill(folder, 2);
  REQUIRE(run_program({"regress", folder.path(), "--record"}).status == 0);
  const std::string record = folder.path() + "/jetty-000.recorded.toml";
  const std::string before = text_of(record);
  REQUIRE(before.size() > 512);
  folder.file("jetty-000.toml", with(kJetty, "680R", "620R"));
  // No file may grow beyond one block, as on a disk that is full.
  const std::string line = fmt::format("ulimit -f 1; exec {} regress {} --record",
                                       bin_dir() + "/benchproof", folder.path());
  const Ran ran = run_program({"-c", line}, {.program = "/bin/sh"});
  CAPTURE(ran.out, ran.err);
  CHECK(ran.status == 2);
  CHECK_THAT(ran.out, Contains("jetty-000.recorded.toml: it could not be") &&
                          Contains("1 of 2 circuits passed"));
  CHECK(text_of(record) == before);
  const auto files = std::distance(fs::directory_iterator(folder.path()), {});
  CHECK(files == 4);
}

TEST_CASE("folders are searched, names can be chosen", "[program][regress]") {
  const Folder folder;
  fs::create_directories(folder.path() + "/piers/north");
  fs::create_directories(folder.path() + "/.hidden");
  for (const char* name :
       {"a.toml", "piers/b.toml", "piers/north/c.toml", ".hidden/d.toml", ".e.toml"})
    folder.file(name, kJetty);
  folder.file("notes.txt", "no description");
  const auto files = [&](std::vector<std::string> more) {
    std::vector<std::string> arguments{"regress", folder.path()};
    arguments.insert(arguments.end(), more.begin(), more.end());
    std::vector<std::string> names;
    const Json json = json_of(arguments);
    for (const Json& circuit : json["circuits"])
      names.push_back(
          circuit["file"].get<std::string>().substr(folder.path().size() + 1));
    return names;
  };
  using Names = std::vector<std::string>;
  CHECK(files({}) == Names{"a.toml", "piers/b.toml", "piers/north/c.toml"});
  CHECK(files({"--filter", "piers"}) == Names{"piers/b.toml", "piers/north/c.toml"});
  CHECK(files({"--filter", "*/a.toml", "--filter", "north"}) ==
        Names{"a.toml", "piers/north/c.toml"});
  CHECK(files({"--filter", "[ac]*"}) == Names{"a.toml", "piers/north/c.toml"});
  CHECK(files({"--filter", "[ac].tom[l]"}) == Names{"a.toml", "piers/north/c.toml"});
  CHECK(files({"--filter", "b.t?ml"}) == Names{"piers/b.toml"});
  // A record that a renamed circuit left behind.
  const std::string orphan = folder.file("piers/old.recorded.toml", "");
  const Ran left = run_program({"regress", folder.path()});
  CHECK(left.status == 2);
  CHECK_THAT(left.err, Contains("old.recorded.toml: there is no description beside"));
  fs::remove(orphan);
  // A pipe, which would be waited for, is complained about instead.
  REQUIRE(mkfifo((folder.path() + "/pipe.toml").c_str(), 0600) == 0);
  REQUIRE(mkfifo((folder.path() + "/a.recorded.toml").c_str(), 0600) == 0);
  const Ran odd = run_program({"regress", folder.path()});
  CHECK(odd.status == 2);
  CHECK_THAT(odd.err, Contains("pipe.toml: is no ordinary file"));
  CHECK_THAT(odd.out, Contains("a.recorded.toml is no ordinary file") &&
                          Contains("2 of 3 circuits passed"));
  const Ran ran = run_program({"regress", folder.path(), "--filter", "canal"});
  CHECK(ran.status == 2);
  CHECK_THAT(ran.err, Contains("no description has such a name"));
}

TEST_CASE("shards put together are the whole", "[program][regress]") {
  const Folder folder;
  fill(folder, 7);
  REQUIRE(run_program({"regress", folder.path(), "--record"}).status == 0);
  folder.file("jetty-004.toml", with(kJetty, "330R", "22R"));
  const Folder reports;
  std::vector<std::string> merge{"regress", "--merge"};
  std::size_t circuits = 0;
  for (const char* part : {"3/3", "1/3", "2/3"}) {
    const Ran ran = run_program({"regress", folder.path(), "--shard", part, "--json"});
    circuits += Json::parse(ran.out)["circuits"].size();
    merge.push_back(reports.file(std::string(1, part[0]) + ".json", ran.out));
  }
  CHECK(circuits == 7);
  const Ran whole = run_program({"regress", folder.path()});
  const Ran merged = run_program(merge);
  CHECK(merged.err.empty());
  CHECK(merged.status == 1);
  CHECK(merged.out == whole.out);
  const Ran tap = run_program({"regress", folder.path(), "--tap"});
  std::vector<std::string> merge_tap = merge;
  merge_tap.emplace_back("--tap");
  CHECK(run_program(merge_tap).out == tap.out);
  CHECK(json_of(merge) == json_of({"regress", folder.path()}));
  std::vector<std::string> merge_junit = merge;
  merge_junit.insert(merge_junit.begin() + 1,
                     {"--junit", folder.path() + "/merged.xml"});
  CHECK(run_program(merge_junit).status == 1);
  const std::string junit = folder.path() + "/whole.xml";
  CHECK(run_program({"regress", folder.path(), "--junit", junit}).status == 1);
  CHECK(text_of(folder.path() + "/merged.xml") == text_of(junit));

  const auto complaint = [](const std::vector<std::string>& arguments) {
    const Ran ran = run_program(arguments);
    CHECK(ran.status == 2);
    return ran.err;
  };
  CHECK_THAT(complaint({"regress", "--merge", merge[2], merge[4]}),
             Contains("of 3 shards, 1 is missing") &&
                 Contains("regress " + folder.path() + " --shard 1/3 --json"));
  // Half a report is none, and the others are not to blame.
  const std::string report = text_of(merge[3]);
  const std::string half = reports.file("half.json", report.substr(0, 2000));
  CHECK_THAT(
      complaint({"regress", "--merge", merge[2], half, merge[4]}),
      Contains("half.json cannot be merged") && Contains("of 3 shards, 1 is missing"));
  CHECK_THAT(complaint({"regress", "--merge", merge[2], merge[2]}),
             Contains("once more"));
  const std::string odd = reports.file("odd.json", "{\"benchproof\": 1}");
  CHECK_THAT(complaint({"regress", "--merge", odd}), Contains("cannot be merged"));
  CHECK_THAT(complaint({"regress", folder.path(), "--shard", "4/3"}),
             Contains("is not K/N"));
}

TEST_CASE("test services get JUnit XML and TAP", "[program][regress]") {
  const Folder folder;
  folder.file("a & b.toml", kJetty);
  folder.file("burning.toml", with(kJetty, "330R", "22R"));
  folder.file("refused.toml", "[parts]\nx = 1\n");
  const std::string junit = folder.path() + "/report.xml";
  const Ran ran = run_program({"regress", folder.path(), "--tap", "--junit", junit});
  CHECK(ran.status == 2);
  // TAP 14 (testanything.org): version, plan, points, YAML blocks indented by two.
  CHECK_THAT(ran.out, Catch::StartsWith("TAP version 14\n1..5\nok 1 - "));
  std::istringstream lines(ran.out);
  int points = 0;
  for (std::string line; std::getline(lines, line);) {
    INFO(line);
    const bool is_point = line.starts_with("ok ") || line.starts_with("not ok ");
    points += is_point ? 1 : 0;
    CHECK((is_point || line.starts_with("  ") || line == "TAP version 14" ||
           line == "1..5"));
  }
  CHECK(points == 5);
  CHECK_THAT(ran.out, Contains("not ok 5 - ") && Contains("refused.toml: reading"));

  const std::string xml = text_of(junit);
  CHECK_THAT(xml, Contains("<testsuites name=\"benchproof\" tests=\"5\" failures=\"1\" "
                           "errors=\"1\">") &&
                      Contains("a &amp; b.toml") && !Contains("a & b") &&
                      Contains("<failure type=\"fault\"") &&
                      Contains("<error type=\"refused\""));
  const auto count = [&xml](const std::string& what) {
    int found = 0;
    for (std::size_t at = xml.find(what); at != std::string::npos;
         at = xml.find(what, at + 1))
      ++found;
    return found;
  };
  CHECK(count("<testsuite ") == count("</testsuite>"));
  CHECK(count("<testcase ") == count("</testcase>") + count("/>"));

  const Ran lost = run_program(
      {"regress", folder.path(), "--junit", folder.path() + "/no/where.xml"});
  CHECK(lost.status == 2);
  CHECK_THAT(lost.err, Contains("where.xml: no file can be made beside it"));
}

TEST_CASE("what passed before and did not change is not solved again",
          "[program][regress]") {
  const Folder folder;
  const Folder cache;
  fill(folder, 4);
  folder.file("burning.toml", with(kJetty, "330R", "22R"));
  const RunOptions options{.environment = {{"XDG_CACHE_HOME", cache.path()}}};
  const auto kept = [&] {
    std::map<std::string, bool> list;
    const Json json =
        json_of({"regress", folder.path(), "--changed-since", "last"}, options);
    for (const Json& circuit : json["circuits"])
      list[fs::path(circuit["file"].get<std::string>()).stem()] = circuit["kept"];
    return list;
  };
  for (const auto& [name, is_kept] : kept()) CHECK_FALSE(is_kept);
  // A fault is looked at again each time.
  for (const auto& [name, is_kept] : kept()) CHECK(is_kept == (name != "burning"));

  folder.file("jetty-001.toml", kJetty + "# Another text.\n");
  CHECK_FALSE(kept()["jetty-001"]);
  CHECK(kept()["jetty-001"]);
  REQUIRE(run_program({"regress", folder.path(), "--record"}).status == 1);
  CHECK_FALSE(kept()["jetty-000"]);  // There is a record now.
  CHECK(kept()["jetty-000"]);
  // A damaged record counts, and so do damaged results.
  folder.file("jetty-000.recorded.toml", "benchproof = 2\n");
  CHECK_FALSE(kept()["jetty-000"]);
  for (const auto& entry : fs::directory_iterator(cache.path() + "/benchproof"))
    fs::resize_file(entry.path(), fs::file_size(entry.path()) / 2);
  for (const auto& [name, is_kept] : kept()) CHECK_FALSE(is_kept);

  // Without a place for it everything is solved, and that is told.
  const Ran ran = run_program(
      {"regress", folder.path() + "/jetty-002.toml", "--changed-since", "last"},
      {.environment = {{"XDG_CACHE_HOME", "/proc/nothing"}}});
  CHECK(ran.status == 0);
  CHECK_THAT(ran.err, Contains("warning: earlier results are not known"));
}

TEST_CASE("what is older than a file or a time is left alone", "[program][regress]") {
  const Folder folder;
  fill(folder, 3);
  const std::string mark = folder.file("mark", "");
  const auto now = fs::file_time_type::clock::now();
  const auto hour = std::chrono::hours(1);
  fs::last_write_time(mark, now - 2 * hour);
  for (int k = 0; k < 3; ++k)
    fs::last_write_time(fmt::format("{}/jetty-00{}.toml", folder.path(), k),
                        now - (k + 1) * hour - hour / 2);
  const auto looked_at = [&](const std::string& when) {
    return json_of({"regress", folder.path(), "--changed-since", when})["circuits"]
        .size();
  };
  CHECK(looked_at(mark) == 1);
  CHECK(looked_at("2001-02-03") == 3);
  CHECK(looked_at("2001-02-03 04:05") == 3);
  CHECK(looked_at("2199-01-01T00:00:00") == 0);
  folder.file("jetty-002.recorded.toml", "");  // A record is part of it.
  CHECK(looked_at(mark) == 2);
  const Ran ran = run_program({"regress", folder.path(), "--changed-since", "once"});
  CHECK(ran.status == 2);
  CHECK_THAT(ran.err, Contains("'once' is neither 'last', nor a file, nor a time"));
}

TEST_CASE("programs at the same time do not get in each other's way",
          "[program][regress]") {
  const Folder folder;
  const Folder cache;
  fill(folder, 12);
  const RunOptions options{.environment = {{"XDG_CACHE_HOME", cache.path()}}};
  std::vector<Ran> ran(4);
  {
    std::vector<std::jthread> threads;
    for (std::size_t k = 0; k < ran.size(); ++k)
      threads.emplace_back([&, k] {
        ran[k] = run_program({"regress", folder.path(), "--changed-since", "last",
                              k % 2 == 0 ? "--record" : "--all"},
                             options);
      });
  }
  for (const Ran& each : ran) {
    CAPTURE(each.out, each.err);
    CHECK(each.status == 0);
    CHECK_THAT(each.out, Contains("12 of 12 circuits passed"));
  }
  CHECK(run_program({"regress", folder.path()}).status == 0);
  const auto files = std::distance(fs::directory_iterator(folder.path()), {});
  CHECK(files == 24);
}

TEST_CASE("workers that are killed cost a second try, not a result",
          "[program][regress]") {
  const OddProgram program("( /bin/sleep 0.25; kill -9 $$ ) 3>&- &");
  const Folder folder;
  fill(folder, 2000);
  const Ran ran = run_program({"regress", folder.path(), "--jobs", "2"},
                              {.program = program.path()});
  CAPTURE(ran.out, ran.err);
  CHECK(ran.status == 0);
  CHECK_THAT(ran.out, Contains("2000 of 2000 circuits passed"));
  CHECK(program.starts() > 3);  // Two would do, if none were killed.
}

TEST_CASE("a circuit over which the engine hangs is told, the others go on",
          "[program][regress][slow]") {
  // Once, and only once, a worker stops and does not answer.
  const OddProgram program(
      "if /bin/mkdir $here/once 2>/dev/null; then\n"
      "  ( /bin/sleep 0.05; kill -STOP $$ ) 3>&- &\nfi");
  const Folder folder;
  fill(folder, 200);
  const Ran ran = run_program({"regress", folder.path(), "--jobs", "2"},
                              {.program = program.path()});
  CAPTURE(ran.out, ran.err);
  CHECK(ran.status == 3);
  CHECK_THAT(ran.out, Contains("199 of 200 circuits passed") &&
                          Contains("engine-failed") && Contains("state 'steady'"));
}

TEST_CASE("only kept results are forgotten", "[program][regress]") {
  const Folder home;
  const std::string kept = home.path() + "/benchproof";
  fs::create_directories(kept + "/library");
  fs::create_directories(kept + "/empty");
  const std::string key = "0123456789abcdef0123456789abcdef";
  home.file("benchproof/library/jetty.toml", kJetty);
  home.file("benchproof/plan.txt", "keep me");
  home.file("benchproof/" + key, "an old result");
  const auto long_ago = fs::file_time_type::clock::now() - std::chrono::hours(24 * 90);
  for (const std::string& name : {std::string("plan.txt"), key, std::string("empty")})
    fs::last_write_time(kept + "/" + name, long_ago);
  RunOptions options;
  options.environment = {{"XDG_CACHE_HOME", home.path()}};
  const std::vector<std::string> last{"regress", kept + "/library", "--changed-since",
                                      "last"};
  CHECK(run_program(last, options).status == 0);
  CHECK(fs::exists(kept + "/plan.txt"));
  CHECK(fs::exists(kept + "/empty"));
  CHECK_FALSE(fs::exists(kept + "/" + key));

  // A pipe, which would be waited for, is no kept result.
  std::vector<std::string> results;
  for (const auto& entry : fs::directory_iterator(kept))
    if (entry.path().filename().string().size() == key.size())
      results.push_back(entry.path());
  REQUIRE(results.size() == 1);
  fs::remove(results[0]);
  REQUIRE(mkfifo(results[0].c_str(), 0600) == 0);
  CHECK(run_program(last, options).status == 0);

  // Nor is what others may have put there.
  fs::permissions(kept, fs::perms::all);
  const Ran open = run_program(last, options);
  CHECK(open.status == 0);
  CHECK_THAT(open.err, Contains("is not this user's alone"));
}

TEST_CASE("too little memory or too few processes are told", "[program][regress]") {
  if (is_sanitized()) return;  // The sanitizers take address space without end.
  const Folder folder;
  fill(folder, 6);
  // The program itself takes some 10 MB, each thread 8 MB for its stack.
  for (const char* limit : {"-v 30000", "-v 60000", "-v 100000", "-v 300000"}) {
    CAPTURE(limit);
    const Folder place;
    RunOptions options;
    options.program = "/bin/bash";
    const Ran ran =
        run_program({"-c", fmt::format("ulimit {}; exec {} regress {} --jobs 8", limit,
                                       bin_dir() + "/benchproof", folder.path())},
                    options);
    CAPTURE(ran.out, ran.err);
    CHECK((ran.status == 0 || ran.status == 3 || ran.status == 127));
  }
}

TEST_CASE("what there was no memory for has no answer, and is not refused",
          "[program][regress]") {
  const Folder folder;
  fill(folder, 1);
  Json report = json_of({"regress", folder.path()});
  CHECK(report["regress"]["shard"]["of"] == 1);
  Json& circuit = report["circuits"][0];
  REQUIRE(circuit["unanswered"] == false);
  circuit["trouble"] = "there is not enough memory";
  const auto status = [&] {
    return run_program({"regress", "--merge", folder.file("part.json", report.dump())})
        .status;
  };
  CHECK(status() == 2);  // A record that cannot be read.
  circuit["unanswered"] = true;
  CHECK(status() == 3);
}

TEST_CASE("reports that claim too much are not merged", "[program][regress]") {
  const Folder folder;
  fill(folder, 2);
  const Ran ran = run_program({"regress", folder.path(), "--shard", "1/2", "--json"});
  REQUIRE(ran.status == 0);
  const auto merged = [&folder](const std::string& text) {
    const Ran merge =
        run_program({"regress", "--merge", folder.file("part.json", text)});
    CHECK(merge.status == 2);
    CHECK(merge.err.size() < 400);
    return merge.err;
  };
  CHECK_THAT(merged(with(ran.out, "\"of\": 2", "\"of\": 2000000000")),
             Contains("is not what"));
  CHECK_THAT(merged(with(ran.out, "\"of\": 2", "\"of\": 9000")),
             Contains("8999 are missing"));
  CHECK_THAT(merged(with(ran.out, "\"part\": 1", "\"part\": 3")),
             Contains("is not what"));
  CHECK_THAT(merged(ran.out), Contains("of 2 shards, 2 is missing"));
  CHECK_THAT(run_program({"regress", "--merge", "/dev/zero"}).err,
             Contains("is no ordinary file"));
}

TEST_CASE("more results than are held in memory are told all the same",
          "[program][regress]") {
  constexpr int kFiles = 5000;  // Refused: quickly looked at.
  const Folder folder;
  for (int k = 0; k < kFiles; ++k)
    folder.file(fmt::format("{:04}.toml", k), "[parts]\nr = { kind = \"resistor\" }\n");
  const Ran whole = run_program({"regress", folder.path(), "--json"});
  CHECK(whole.status == 2);
  REQUIRE(whole.out.size() > 2U << 20U);  // A part of it was put into a file.
  const Folder reports;
  std::vector<std::string> merge{"regress", "--json", "--merge"};
  for (int part = 1; part <= 5; ++part) {
    const std::string shard = fmt::format("{}/5", part);
    const Ran ran = run_program({"regress", folder.path(), "--json", "--shard", shard});
    REQUIRE(ran.out.size() < 1U << 20U);  // Nothing of it was.
    merge.push_back(reports.file(std::to_string(part), ran.out));
  }
  CHECK(run_program(merge).out == whole.out);
  RunOptions no_files;
  no_files.tmp_read_only = true;
  const Ran held = run_program({"regress", folder.path(), "--json"}, no_files);
  if (held.status != kNoSuchMachine) CHECK(held.out == whole.out);
}

TEST_CASE("an edit made while results are recorded is not lost", "[program][regress]") {
  for (const char* name : {"jetty.toml", "jetty.recorded.toml"}) {
    CAPTURE(name);
    const Folder folder;
    folder.file("jetty.toml", kJetty);
    REQUIRE(run_program({"regress", folder.path(), "--record"}).status == 0);
    folder.file("jetty.toml", with(kJetty, "470R", "560R"));
    const std::string edited = folder.path() + "/" + name;
    // The worker is slow to come; meanwhile somebody edits.
    const OddProgram program("/bin/sleep 0.5; echo '# mine' >>" + edited);
    RunOptions options;
    options.program = program.path();
    const Ran ran = run_program({"regress", folder.path(), "--record"}, options);
    CAPTURE(ran.out);
    CHECK(ran.status != 0);
    CHECK_THAT(ran.out, Contains("meanwhile"));
    CHECK_THAT(text_of(edited), Contains("# mine"));
  }
}

TEST_CASE("a report is not put where something else stands", "[program][regress]") {
  const Folder folder;
  const std::string file = folder.file("jetty.toml", kJetty);
  CHECK(run_program({"regress", file, "--junit", file}).status == 2);
  CHECK(text_of(file) == kJetty);
  CHECK(run_program({"regress", file, "--junit", "/dev/stdout"}).status == 2);
  const std::string twin = folder.path() + "/twin.xml";
  folder.file("report.xml", "old");
  fs::create_hard_link(folder.path() + "/report.xml", twin);
  const Ran linked = run_program({"regress", file, "--junit", twin});
  CHECK(linked.status == 2);
  CHECK_THAT(linked.err, Contains("hard links"));
  CHECK(text_of(twin) == "old");
}

TEST_CASE("a library gets a page of each circuit and an index, and loses nothing",
          "[program][regress]") {
  const Folder folder;
  const Folder out;
  folder.file("Jetty & \"lamp\".toml", kJetty);
  fs::create_directory(folder.path() + "/more");
  folder.file("more/jetty.toml", kJetty);
  // 22 ohm let the red lamp have some 60 mA of the 20 mA that it may have.
  folder.file("jetty.toml", with(kJetty, "330R", "22R"));
  folder.file("torn.toml", "[parts");
  out.file("mine.txt", "kept");
  const auto run = [&] {
    return run_program({"regress", folder.path(), "--report", out.path()});
  };
  CHECK(run().status == 2);
  CHECK(text_of(out.path() + "/mine.txt") == "kept");
  std::map<std::string, std::string> pages;
  for (const auto& entry : fs::directory_iterator(out.path()))
    if (entry.path().extension() == ".html")
      pages[entry.path().filename()] = text_of(entry.path());
  // One each of what could be read, and the index.
  REQUIRE(pages.size() == 4);
  const std::string index = pages.at("index.html");
  CHECK_THAT(index,
             Contains("Jetty &amp; &quot;lamp&quot;.toml") && Contains("refused"));
  // What did not pass stands above what did.
  CHECK(index.find("torn.toml") < index.find("more/jetty.toml"));
  CHECK(index.find("/jetty.toml") < index.find("more/jetty.toml"));
  for (const auto& [name, text] : pages) {
    CAPTURE(name);
    CHECK_THAT(text, Contains("</html>"));
    if (name != "index.html") CHECK_THAT(index, Contains("href=\"" + name + "\""));
  }
  // The same again is the same.
  CHECK(run().status == 2);
  for (const auto& [name, text] : pages)
    CHECK(text_of(out.path() + "/" + name) == text);
  // A file of somebody else's that has a page's name stays, and nothing is written.
  out.file("jetty-lamp.html", "theirs");
  const std::string name = pages.begin()->first;
  out.file(name, "theirs");
  const Ran refused = run();
  CHECK(refused.status == 2);
  CHECK_THAT(refused.err, Contains("is no page") && Contains(name));
  CHECK(text_of(out.path() + "/" + name) == "theirs");
  CHECK(
      run_program({"regress", folder.path(), "--report", out.path(), "--shard", "1/2"})
          .status == 2);
}
