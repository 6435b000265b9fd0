#include "core/nodal/detail/elimination.h"

#include <algorithm>
#include <bit>
#include <cstddef>
#include <cstdint>
#include <span>

namespace benchproof {
namespace {

/// Which entries of a matrix are in use, and a number for each of them. Rows and
/// columns are numbered in the order of pivots.
class Entries {
 public:
  explicit Entries(int size)
      : size_(size),
        words_((size + kBits - 1) / kBits),
        bits_(static_cast<std::size_t>(size) * words_) {}

  void insert(int row, int column) { bits_[index(row, column)] |= bit(column); }
  [[nodiscard]] bool has(int row, int column) const {
    return (bits_[index(row, column)] & bit(column)) != 0;
  }
  /// Inserts into `row` the columns of `other` beyond column `k`.
  void join(int row, int other, int k) {
    each_word(other, k + 1, [&](std::size_t at, std::uint64_t beyond) {
      bits_[at + (static_cast<std::size_t>(row) - other) * words_] |= beyond;
    });
  }
  /// Calls visit(column) for the columns of `row` beyond column `k`, rising.
  template <class Visit>
  void each_beyond(int row, int k, const Visit& visit) const {
    each_word(row, k + 1, [&](std::size_t at, std::uint64_t left) {
      const int first = static_cast<int>(at % words_) * kBits;
      for (; left != 0; left &= left - 1) visit(first + std::countr_zero(left));
    });
  }

  /// Numbers them row by row; none may be inserted after that. Returns how many they
  /// are.
  int number() {
    before_.reserve(bits_.size());
    int count = 0;
    for (const std::uint64_t word : bits_) {
      before_.push_back(count);
      count += std::popcount(word);
    }
    return count;
  }
  [[nodiscard]] int number_of(int row, int column) const {
    const std::size_t at = index(row, column);
    return before_[at] + std::popcount(bits_[at] & (bit(column) - 1));
  }

 private:
  static constexpr int kBits = 64;

  static std::uint64_t bit(int column) { return std::uint64_t{1} << (column % kBits); }
  [[nodiscard]] std::size_t index(int row, int column) const {
    return static_cast<std::size_t>(row) * words_ + column / kBits;
  }
  /// Calls visit(index, bits) for the words of `row` with the columns from `first` on.
  template <class Visit>
  void each_word(int row, int first, const Visit& visit) const {
    if (first >= size_) return;
    std::size_t at = index(row, first);
    visit(at, bits_[at] & ~(bit(first) - 1));
    const std::size_t end = static_cast<std::size_t>(row + 1) * words_;
    for (++at; at < end; ++at) visit(at, bits_[at]);
  }

  int size_;
  std::size_t words_;  ///< Of a row.
  std::vector<std::uint64_t> bits_;
  std::vector<int> before_;  ///< By word, how many entries stand before it.
};

void invert(const std::vector<int>& order, int* place) {
  for (std::size_t k = 0; k < order.size(); ++k) place[order[k]] = static_cast<int>(k);
}

/// The slots of entries, -1 for those that have none yet. Numbers the entries of a
/// large matrix, among which none may be inserted after that.
class Slots {
 public:
  Slots(Entries& entries, int size)
      : entries_(entries),
        size_(size),
        slots_(has_table() ? size * size : entries.number(), -1) {}

  [[nodiscard]] int& at(int row, int column) {
    return slots_[has_table() ? row * size_ + column : entries_.number_of(row, column)];
  }

 private:
  /// Of small ones a table is the quickest way from an entry to its slot.
  [[nodiscard]] bool has_table() const { return size_ <= kMostByMasks; }

  const Entries& entries_;
  int size_;
  std::vector<int> slots_;
};

/// Adds what the elimination by one pivot is: where it stands, and where what it is
/// taken off.
void add_step(const Entries& entries, Slots& slots, const std::vector<int>& rows,
              int pivot, std::span<const int> below, std::vector<int>& steps) {
  const std::size_t head = steps.size();
  steps.insert(steps.end(), {slots.at(pivot, pivot), rows[pivot],
                             static_cast<int>(below.size()), 0});
  const auto add_row = [&](int row) {
    entries.each_beyond(pivot, pivot,
                        [&](int column) { steps.push_back(slots.at(row, column)); });
  };
  add_row(pivot);
  steps[head + 3] = static_cast<int>(steps.size() - head) - 4;
  for (const int row : below) {
    steps.insert(steps.end(), {slots.at(row, pivot), rows[row]});
    add_row(row);
  }
}

/// Adds what finding one unknown from those behind it is.
void add_back(const Entries& entries, Slots& slots, const Pivots& pivots, int pivot,
              std::vector<int>& back) {
  const std::size_t head = back.size();
  back.insert(back.end(),
              {slots.at(pivot, pivot), pivots.rows[pivot], pivots.unknowns[pivot], 0});
  entries.each_beyond(pivot, pivot, [&](int column) {
    back.insert(back.end(), {slots.at(pivot, column), pivots.unknowns[column]});
  });
  back[head + 3] = static_cast<int>(back.size() - head) / 2 - 2;
}

}  // namespace

Elimination::Elimination(const Pattern& pattern, const Pivots& pivots)
    : size_(pattern.size()) {
  // One piece of memory for all three: small systems are made by the thousand.
  std::vector<int> numbers(3 * static_cast<std::size_t>(size_));
  int* const row_place = numbers.data();
  int* const column_place = row_place + size_;
  int* const below_end = column_place + size_;
  invert(pivots.rows, row_place);
  invert(pivots.unknowns, column_place);
  const auto each_entry = [&](const auto& visit) {
    for (int c = 0; c < size_; ++c) {
      for (int e = pattern.first[c]; e < pattern.first[c + 1]; ++e)
        visit(row_place[pattern.rows[e]], column_place[c], e);
    }
  };
  Entries entries(size_);
  each_entry([&](int row, int column, int) { entries.insert(row, column); });
  std::vector<int> below;  // The rows that each pivot is taken off.
  below.reserve(pattern.entries());
  for (int k = 0; k < size_; ++k) {
    for (int r = k + 1; r < size_; ++r) {
      if (!entries.has(r, k)) continue;
      below.push_back(r);
      entries.join(r, k, k);
    }
    below_end[k] = static_cast<int>(below.size());
  }
  Slots slots(entries, size_);
  each_entry([&](int row, int column, int e) { slots.at(row, column) = e; });
  slots_ = pattern.entries();
  for (int row = 0; row < size_; ++row) {
    entries.each_beyond(row, -1, [&](int column) {
      int& slot = slots.at(row, column);
      if (slot < 0) slot = slots_++;
    });
  }
  steps_.reserve(4 * (size_ + slots_));
  for (int k = 0; k < size_; ++k) {
    const int* first = below.data() + (k == 0 ? 0 : below_end[k - 1]);
    add_step(entries, slots, pivots.rows, k, {first, below.data() + below_end[k]},
             steps_);
  }
  back_.reserve(4 * size_ + 2 * slots_);
  for (int k = size_ - 1; k >= 0; --k) add_back(entries, slots, pivots, k, back_);
}

/// After a run the pivots' places in `a` hold their inverses, the other entries of
/// their rows those of U, and the entries under them those of L times the pivot.
void Elimination::run_transposed(const double* a, int sides, double* c,
                                 double* y) const {
  // Where the pivots stand in the two lists, which are gone through backwards.
  std::vector<const int*> steps(size_);
  std::vector<const int*> backs(size_);
  const int* at = steps_.data();
  for (int k = 0; k < size_; ++k) {
    steps[k] = at;
    at += 4 + at[3] + at[2] * (2 + at[3]);
  }
  at = back_.data();
  for (int k = size_ - 1; k >= 0; --k) {
    backs[k] = at;
    at += 4 + 2 * at[3];
  }
  const auto row_of = [sides](double* of, int row) {
    return of + static_cast<std::ptrdiff_t>(row) * sides;
  };
  for (int k = 0; k < size_; ++k) {  // U' z = c
    const int* back = backs[k];
    double* here = row_of(c, back[2]);
    for (int s = 0; s < sides; ++s) here[s] *= a[back[0]];
    const int* end = back + 4 + 2 * back[3];
    for (const int* entry = back + 4; entry != end; entry += 2) {
      double* beyond = row_of(c, entry[1]);
      for (int s = 0; s < sides; ++s) beyond[s] -= a[entry[0]] * here[s];
    }
  }
  for (int k = size_ - 1; k >= 0; --k) {  // L' y = z
    const int* step = steps[k];
    double* here = row_of(y, step[1]);
    std::copy_n(row_of(c, backs[k][2]), sides, here);
    const int width = step[3];
    const int* below = step + 4 + width;
    for (int r = 0; r < step[2]; ++r, below += 2 + width) {
      const double factor = a[below[0]] * a[step[0]];
      const double* there = row_of(y, below[1]);
      for (int s = 0; s < sides; ++s) here[s] -= factor * there[s];
    }
  }
}

}  // namespace benchproof
