#include "core/check/finding/told.h"

#include <algorithm>
#include <map>
#include <set>
#include <tuple>

namespace benchproof {
namespace {

/// What is told together: a check's, and of expectations the very one.
struct Row {
  std::string_view check;
  int line = 0;
  friend auto operator<=>(const Row&, const Row&) = default;
};

Row row_of(const Finding& finding) {
  return {finding.check, is_expectation(finding) ? finding.span.begin.line : 0};
}

/// The first cause of a finding, however far away; itself where nothing causes it, or
/// where its causes go in a circle.
const Finding& root_of(std::span<const Finding> findings, const Finding& finding) {
  const Finding* root = &finding;
  for (std::size_t step = 0; step < findings.size(); ++step) {
    const Finding* cause = cause_among(findings, *root);
    if (cause == nullptr) return *root;
    root = cause;
  }
  return finding;
}

bool is_graver(const Finding& a, const Finding& b) {
  const auto rank = [](const Finding& f) {
    const auto share = margin(f);
    return std::tuple(-static_cast<int>(f.severity), share ? *share : 1.0);
  };
  return rank(a) < rank(b);
}

void take(std::string_view place, const Finding& finding, Told& told) {
  const std::string_view name = subject_of(finding);
  const auto known =
      std::find_if(told.subjects.begin(), told.subjects.end(),
                   [name](const ToldSubject& s) { return s.name == name; });
  if (known == told.subjects.end())
    told.subjects.push_back({name, &finding});
  else if (is_graver(finding, *known->worst))
    known->worst = &finding;
  if (std::find(told.places.begin(), told.places.end(), place) == told.places.end())
    told.places.push_back(place);
}

/// Keeps what is told by rows, in the order in which they came.
class Rows {
 public:
  Told& at(const Row& row) {
    const auto [it, is_new] = index_.try_emplace(row, list_.size());
    if (is_new) list_.emplace_back();
    return list_[it->second];
  }
  [[nodiscard]] std::vector<Told> sorted() && {
    for (Told& told : list_)
      std::stable_sort(told.subjects.begin(), told.subjects.end(),
                       [](const ToldSubject& a, const ToldSubject& b) {
                         return is_graver(*a.worst, *b.worst);
                       });
    std::stable_sort(list_.begin(), list_.end(), [](const Told& a, const Told& b) {
      return worst(a).severity > worst(b).severity;
    });
    return std::move(list_);
  }

 private:
  std::map<Row, std::size_t> index_;
  std::vector<Told> list_;
};

}  // namespace

std::string_view subject_of(const Finding& finding) {
  return finding.part.empty() ? finding.net : finding.part;
}

const Finding* cause_among(std::span<const Finding> findings, const Finding& finding) {
  if (finding.follows.empty()) return nullptr;
  const Finding* cause = nullptr;
  for (const Finding& other : findings) {
    if (&other == &finding || other.check != finding.follows) continue;
    if (other.part == finding.part) return &other;
    if (cause == nullptr) cause = &other;
  }
  return cause;
}

std::vector<Told> told_together(std::span<const FindingsAt> all) {
  Rows top;
  std::map<Row, Rows> below;
  // Causes come first, so that each has its place before what follows from it.
  for (const bool is_of_results : {false, true}) {
    for (const FindingsAt& at : all) {
      for (const Finding& finding : at.findings) {
        const Finding& root = root_of(at.findings, finding);
        if ((&root != &finding) != is_of_results) continue;
        if (is_of_results && row_of(root) != row_of(finding))
          take(at.place, finding, below[row_of(root)].at(row_of(finding)));
        else
          take(at.place, finding, top.at(row_of(finding)));
      }
    }
  }
  std::vector<Told> told = std::move(top).sorted();
  for (Told& cause : told) {
    const auto results = below.find(row_of(worst(cause)));
    if (results != below.end()) cause.results = std::move(results->second).sorted();
  }
  return told;
}

}  // namespace benchproof
