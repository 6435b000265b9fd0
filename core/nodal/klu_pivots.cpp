#include <klu.h>

#include <new>

#include "core/nodal/detail/pivots.h"

namespace benchproof {
namespace {

constexpr double kThreshold = 0.1;

class KluPivots : public PivotSearch {
 public:
  explicit KluPivots(const Pattern& pattern)
      : pattern_(pattern), first_(pattern.first), rows_(pattern.rows) {
    klu_defaults(&common_);
    common_.tol = kThreshold;
    common_.scale = -1;  // Rows as they are: so they will be eliminated.
    symbolic_ = klu_analyze(pattern.size(), first_.data(), rows_.data(), &common_);
    if (symbolic_ == nullptr) throw std::bad_alloc();
  }
  ~KluPivots() override { klu_free_symbolic(&symbolic_, &common_); }
  KluPivots(const KluPivots&) = delete;
  KluPivots& operator=(const KluPivots&) = delete;

  Pivots choose(const double* a) override {
    values_.assign(a, a + pattern_.entries());
    klu_numeric* numeric =
        klu_factor(first_.data(), rows_.data(), values_.data(), symbolic_, &common_);
    if (common_.status < KLU_OK) throw std::bad_alloc();
    Pivots pivots;
    if (common_.status == KLU_SINGULAR) {
      pivots.without = common_.singular_col;
    } else {
      pivots.rows.assign(numeric->Pnum, numeric->Pnum + pattern_.size());
      pivots.unknowns.assign(symbolic_->Q, symbolic_->Q + pattern_.size());
    }
    klu_free_numeric(&numeric, &common_);
    return pivots;
  }

 private:
  const Pattern& pattern_;
  // KLU takes no constants.
  std::vector<int> first_;
  std::vector<int> rows_;
  std::vector<double> values_;
  klu_common common_{};
  klu_symbolic* symbolic_ = nullptr;
};

}  // namespace

std::unique_ptr<PivotSearch> pivots_by_klu(const Pattern& pattern) {
  return std::make_unique<KluPivots>(pattern);
}

}  // namespace benchproof
