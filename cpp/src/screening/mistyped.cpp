#include <algorithm>
#include <cmath>
#include <map>
#include <string>

#include "screening/kinds_of_marks.hpp"
#include "screening/wording.hpp"

namespace ohmward::screening {
namespace {

/// One character exchanged, missing or too many, or two neighbours swapped.
bool one_slip_apart(std::string_view a, std::string_view b) noexcept {
  if (a.size() > b.size()) std::swap(a, b);
  if (b.size() - a.size() > 1 || a == b) return false;
  std::size_t i = 0;
  while (i < a.size() && a[i] == b[i]) ++i;
  if (a.size() < b.size()) return a.substr(i) == b.substr(i + 1);
  if (a.substr(i + 1) == b.substr(i + 1)) return true;
  return i + 1 < a.size() && a[i] == b[i + 1] && a[i + 1] == b[i] && a.substr(i + 2) == b.substr(i + 2);
}

/// A job belongs to one object: the one of most of its rows, if it has at least this many.
constexpr std::size_t least_rows_of_owner = 3;

class Mistyped {
 public:
  explicit Mistyped(const Rows& rows) : rows_(rows), objects_(rows.table.column(TextName::object_id)) {}

  Found operator()() {
    for (std::size_t job = 0; job < rows_.job.size(); ++job) inside_job(rows_.job.rows(job));
    for (std::size_t row = 1; row + 1 < rows_.size(); ++row) between_neighbours(row);
    return std::move(found_);
  }

 private:
  void inside_job(std::span<const std::uint32_t> members) {
    if (members.size() <= least_rows_of_owner || rows_.code(TextName::job_id, members.front()) < 0) return;
    counts_.clear();
    for (const std::uint32_t row : members)
      if (objects_.code(row) >= 0) ++counts_[objects_.code(row)];
    if (counts_.size() < 2) return;
    const auto owner = std::ranges::max_element(counts_, {}, [](const auto& entry) {
      return entry
      .second;
    });
    if (owner->second < least_rows_of_owner || 2 * owner->second <= members.size()) return;
    for (const std::uint32_t row : members)
      if (objects_.code(row) >= 0 && objects_.code(row) != owner->first)
        report(row, owner->first,
               sentence("job ", rows_.word(TextName::job_id, row), " has ", std::to_string(owner->second), " rows of "),
               static_cast<double>(owner->second));
  }

  /// Without a job: the lines before and after are of one other object, on the same day.
  void between_neighbours(std::size_t row) {
    const std::int32_t own = objects_.code(row);
    const std::int32_t other = objects_.code(row - 1);
    if (own < 0 || other < 0 || own == other || objects_.code(row + 1) != other) return;
    const auto together = [&](std::size_t neighbour) {
      return rows_.day[neighbour] == rows_.day[row] && rows_.code(TextName::job_id, neighbour) < 0;
    };
    if (rows_.code(TextName::job_id, row) >= 0 || rows_.day[row] == Rows::no_day || !together(row - 1) ||
        !together(row + 1) || rows_.job.around(row).size() > 1)
      return;
    report(row, other, "the lines before and after, of the same day, are of ", 2);
  }

  void report(std::size_t row, std::int32_t other, std::string_view because, double count) {
    const std::string_view own = objects_.word(row);
    const std::string_view meant = objects_.word_of_code(other);
    if (!one_slip_apart(own, meant)) return;
    found_.push_back({.finding = Finding::object_mistyped_suspected,
                      .rows = {row},
                      .shown_by = {},
                      .statistic = count,
                      .threshold = nan,
                      .sentence = sentence(own, " may be ", meant, ": ", because, meant)});
  }

  const Rows& rows_;
  const TextColumn& objects_;
  std::map<std::int32_t, std::size_t> counts_;
  Found found_;
};

}  // namespace

Found mistyped_objects(const Rows& rows, const Settings&) { return Mistyped(rows)(); }

}  // namespace ohmward::screening
