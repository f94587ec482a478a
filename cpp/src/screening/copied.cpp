#include <algorithm>
#include <bit>
#include <cmath>
#include <map>
#include <set>
#include <unordered_map>

#include "ohmward/numerics/elementary.hpp"
#include "screening/kinds_of_marks.hpp"
#include "screening/sessions.hpp"
#include "screening/wording.hpp"

namespace ohmward::screening {
namespace {

constexpr std::size_t least_fields = 4;           ///< of a copied vector
constexpr std::size_t fields_of_a_clue = 3;       ///< that follow each other in both jobs
constexpr std::size_t candidates_of_a_clue = 16;  ///< earlier jobs looked at
constexpr double no_bits = 0;
constexpr double least_bits_of_a_kind = 2;  ///< fields of a kind that tell less are left out

std::uint64_t mixed(std::uint64_t a, std::uint64_t b) noexcept {
  std::uint64_t x = a ^ (b + 0x9e3779b97f4a7c15ULL + (a << 6U) + (a >> 2U));
  x = (x ^ (x >> 30U)) * 0xbf58476d1ce4e5b9ULL;
  x = (x ^ (x >> 27U)) * 0x94d049bb133111ebULL;
  return x ^ (x >> 31U);
}

/// Fields of one kind in one job, in the order of the table: the first of each part, since a repeat brings nothing new.
struct Vector {
  std::size_t job = 0;
  std::int32_t kind = Grouping::none;
  std::int32_t object = -1;
  std::int32_t day = Rows::no_day;
  std::vector<std::uint32_t> rows{};
};

struct Match {
  double bits = 0;
  std::vector<std::size_t> rows{};       ///< equal fields of the later job
  std::vector<std::size_t> originals{};  ///< and of the earlier one
};

/// How often equal fields come by chance.
struct Chance {
  std::size_t equal = 0;
  std::size_t pairs = 0;
  [[nodiscard]] double share() const noexcept {
    return (static_cast<double>(equal) + 1) / (static_cast<double>(pairs) + 2);
  }
};

class CopySearch {
 public:
  CopySearch(const Rows& rows, const Settings& settings) : rows_(rows), settings_(settings) {}

  Found operator()() {
    token_.resize(rows_.size());
    offsets_ = bonding_offsets(rows_);
    for (std::size_t row = 0; row < rows_.size(); ++row) token_[row] = token(row);
    count_tokens();
    count_repeats();
    collect();
    pair_up();
    return std::move(found_);
  }

 private:
  /// What was written, with its digits: 0.1 and 0.10 are two things; every over-range is one.
  [[nodiscard]] std::uint64_t token(std::size_t row) const noexcept {
    if (!rows_.exact(row)) return 1 + static_cast<std::uint64_t>(rows_.table.censoring[row]);
    return mixed(std::bit_cast<std::uint64_t>(rows_.table.value[row] + 0.0),
                 std::bit_cast<std::uint64_t>(rows_.table.resolution[row]));
  }
  [[nodiscard]] std::uint64_t step(std::size_t row) const noexcept {
    return mixed(static_cast<std::uint64_t>(rows_.kind.of(row)),
                 rows_.exact(row) ? std::bit_cast<std::uint64_t>(rows_.table.resolution[row]) : 0);
  }

  void count_tokens() {
    for (std::size_t row = 0; row < rows_.size(); ++row) {
      if (rows_.kind.of(row) == Grouping::none) continue;
      std::size_t& most = most_[step(row)];
      most = std::max(most, ++times_[mixed(step(row), token_[row])]);
      ++times_[step(row)];
    }
  }

  /// Equal readings of one point in two jobs that follow each other.
  void count_repeats() {
    for (std::size_t group = 0; group < rows_.point.size(); ++group) {
      std::uint32_t last = 0;
      bool has_last = false;
      for (const std::uint32_t row : rows_.point.rows(group)) {
        if (has_last && rows_.job.of(row) != rows_.job.of(last) && step(row) == step(last)) {
          Chance& chance = repeats_[step(row)];
          ++chance.pairs;
          chance.equal += token_[row] == token_[last] ? 1U : 0U;
        }
        last = row;
        has_last = true;
      }
    }
  }

  void collect() {
    std::set<std::int32_t> parts;
    for (std::size_t job = 0; job < rows_.job.size(); ++job) {
      std::map<std::int32_t, Vector> by_kind;
      for (const std::uint32_t row : rows_.job.rows(job)) {
        const std::int32_t kind = rows_.kind.of(row);
        if (kind == Grouping::none) continue;
        Vector& vector = by_kind[kind];
        if (vector.rows.empty())
          vector = {.job = job, .kind = kind, .object = rows_.code(TextName::object_id, row), .day = rows_.day[row]};
        vector.rows.push_back(row);
      }
      for (auto& [kind, vector] : by_kind) {
        parts.clear();
        std::erase_if(vector.rows, [&](std::uint32_t row) {
          const std::int32_t part = rows_.code(TextName::part, row);
          return part >= 0 && !parts.insert(part).second;
        });
        vectors_.push_back(std::move(vector));
      }
    }
    std::ranges::stable_sort(vectors_, {}, [](const Vector& vector) { return vector.day; });
    for (std::size_t i = 0; i < vectors_.size(); ++i) {
      of_job_[vectors_[i].job].push_back(i);
      ++jobs_of_kind_[vectors_[i].kind];
      jobs_of_object_[key_of(vectors_[i].kind, vectors_[i].object)]++;
    }
  }

  [[nodiscard]] bool is_moved(std::uint32_t row) const noexcept {
    const std::int32_t session = rows_.session.of(row);
    return session != Grouping::none && is_bonding(rows_, row) &&
           std::abs(offsets_[static_cast<std::size_t>(session)].ohm) >= settings_.null_lowered_ohm;
  }

  /// Bits by which an equal field speaks for a copy; below zero for fields that differ.
  [[nodiscard]] double bits(bool equal, std::uint32_t row, bool same_object) const {
    double chance =
        static_cast<double>(times_.at(mixed(step(row), token_[row]))) / static_cast<double>(times_.at(step(row)));
    if (same_object) {
      const auto known = repeats_.find(step(row));
      if (known != repeats_.end()) chance = std::max(chance, known->second.share());
    }
    // leads that were not nulled move all values of a session: none of them is rarer than the usual one is otherwise
    if (is_moved(row))
      chance = std::max(chance, static_cast<double>(most_.at(step(row))) / static_cast<double>(times_.at(step(row))));
    const double copied = settings_.copy_fidelity;
    if (equal) return std::max(no_bits, numerics::log2(copied / chance));
    return std::min(no_bits, numerics::log2((1 - copied) / std::max(1 - chance, 1 - copied)));
  }

  [[nodiscard]] Match match(const Vector& earlier, const Vector& later) const {
    Match result;
    const bool same_object = earlier.object == later.object;
    std::size_t from = 0;
    for (const std::uint32_t row : later.rows) {
      const std::int32_t part = rows_.code(TextName::part, row);
      std::size_t at = from;
      while (at < earlier.rows.size() && part >= 0 && rows_.code(TextName::part, earlier.rows[at]) >= 0 &&
             rows_.code(TextName::part, earlier.rows[at]) != part)
        ++at;
      if (at == earlier.rows.size()) continue;  // the earlier job has no such field
      const std::uint32_t original = earlier.rows[at];
      from = at + 1;
      const bool equal = token_[original] == token_[row];
      result.bits += bits(equal, row, same_object);
      if (!equal) continue;
      result.rows.push_back(row);
      result.originals.push_back(original);
    }
    return result;
  }

  /// All kinds of fields of two jobs; those that speak against a copy were read anew and count nothing.
  [[nodiscard]] Match match_jobs(std::size_t earlier, std::size_t later) const {
    Match result;
    for (const std::size_t a : of_job_.at(earlier))
      for (const std::size_t b : of_job_.at(later)) {
        if (vectors_[a].kind != vectors_[b].kind) continue;
        Match part = match(vectors_[a], vectors_[b]);
        if (!(part.bits > least_bits_of_a_kind)) continue;
        result.bits += part.bits;
        result.rows.insert(result.rows.end(), part.rows.begin(), part.rows.end());
        result.originals.insert(result.originals.end(), part.originals.begin(), part.originals.end());
      }
    return result;
  }

  void pair_up() {
    std::unordered_map<std::uint64_t, std::vector<std::size_t>> seen;  // clue -> jobs that hold it
    std::set<std::size_t> candidates;
    for (const Vector& vector : vectors_) {
      if (vector.rows.size() < fields_of_a_clue) continue;
      candidates.clear();
      for (std::size_t i = 0; i + fields_of_a_clue <= vector.rows.size(); ++i) {
        std::uint64_t clue = static_cast<std::uint64_t>(vector.kind);
        for (std::size_t k = 0; k < fields_of_a_clue; ++k) clue = mixed(clue, token_[vector.rows[i + k]]);
        std::vector<std::size_t>& holders = seen[clue];
        const std::size_t first = holders.size() > candidates_of_a_clue ? holders.size() - candidates_of_a_clue : 0;
        candidates.insert(holders.begin() + static_cast<std::ptrdiff_t>(first), holders.end());
        if (holders.empty() || holders.back() != vector.job) holders.push_back(vector.job);
      }
      candidates.erase(vector.job);
      judge(vector, candidates);
    }
  }

  void judge(const Vector& later, const std::set<std::size_t>& candidates) {
    Match best;
    double best_excess = 0;
    std::size_t source = 0;
    double threshold = 0;
    for (const std::size_t job : candidates) {
      Match found = match_jobs(job, later.job);
      if (found.rows.size() < least_fields) continue;
      const bool same_object = vectors_[of_job_.at(job).front()].object == later.object;
      const std::size_t compared =
          same_object ? jobs_of_object_.at(key_of(later.kind, later.object)) : jobs_of_kind_.at(later.kind);
      const double needed = settings_.copy_margin_bit + numerics::log2(static_cast<double>(compared));
      if (found.bits - needed > best_excess) {
        best_excess = found.bits - needed;
        best = std::move(found);
        source = job;
        threshold = needed;
      }
    }
    if (best_excess > 0) report(later, source, std::move(best), threshold);
  }

  void report(const Vector& later, std::size_t source, Match match, double threshold) {
    if (!reported_.insert(later.job).second) return;
    const Vector& original = vectors_[of_job_.at(source).front()];
    const std::string_view of = rows_.table.column(TextName::object_id).word_of_code(original.object);
    const std::size_t fields = match.rows.size();
    std::ranges::sort(match.rows);
    found_.push_back({.finding = Finding::copied_suspected,
                      .rows = std::move(match.rows),
                      .shown_by = std::move(match.originals),
                      .statistic = match.bits,
                      .threshold = threshold,
                      .sentence = sentence(std::to_string(fields), " readings equal to the last digit those of ", of,
                                           " on ", date(original.day), ", in the same order: ", number(match.bits),
                                           " bits of evidence, chance explains ", number(threshold))});
  }

  const Rows& rows_;
  const Settings& settings_;
  std::vector<std::uint64_t> token_;
  std::unordered_map<std::uint64_t, std::size_t> times_;
  std::unordered_map<std::uint64_t, std::size_t> most_;
  std::unordered_map<std::uint64_t, Chance> repeats_;
  std::vector<SessionOffset> offsets_;
  std::vector<Vector> vectors_;
  std::unordered_map<std::size_t, std::vector<std::size_t>> of_job_;
  std::unordered_map<std::int32_t, std::size_t> jobs_of_kind_;
  std::unordered_map<std::uint64_t, std::size_t> jobs_of_object_;
  std::set<std::size_t> reported_;
  Found found_;
};

}  // namespace

Found copied_vectors(const Rows& rows, const Settings& settings) { return CopySearch(rows, settings)(); }

}  // namespace ohmward::screening
