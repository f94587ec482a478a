#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>

#include "screening/kinds_of_marks.hpp"
#include "screening/robust.hpp"
#include "screening/wording.hpp"

namespace ohmward::screening {
namespace {

constexpr std::size_t checks_in_a_median = 5;
constexpr std::size_t least_checks = 3;

/// A check of a known value that tells a deviation.
struct Check {
  std::size_t row = 0;
  double deviation = nan;  ///< corrected reading minus known value, in what the sheet allows
};

/// Readings of one meter for one quantity, in the order of time.
struct MeterRows {
  std::vector<Check> checks{};
  std::vector<std::size_t> readings{};
};

double allowed(const Rows& rows, std::size_t row, double reference, double class_bound) noexcept {
  const MeterRange* const range = rows.range(row);
  if (range == nullptr) return class_bound * std::abs(reference);
  return range->reading_bound * std::abs(reference) + range->counts * range->display_step;
}

/// A reading below half of a known value, or above twice, is a wrong function or unit, not a drift.
bool is_of_the_right_size(double value, double reference) noexcept {
  return reference == 0 || (value > 0.5 * reference && value < 2 * reference);
}

using Meters = std::map<std::pair<std::int32_t, QuantityKind>, MeterRows>;

Meters rows_by_meter(const Rows& rows, double class_bound) {
  Meters meters;
  std::vector<std::uint32_t> order(rows.size());
  std::iota(order.begin(), order.end(), 0U);
  if (!std::ranges::is_sorted(rows.day))
    std::ranges::stable_sort(order, {}, [&](std::uint32_t row) { return rows.day[row]; });
  std::map<std::pair<std::int32_t, QuantityKind>, bool> has_checks;
  for (const std::uint32_t row : order)
    if (rows.is_check[row] && rows.code(TextName::instrument_id, row) >= 0)
      has_checks[{rows.code(TextName::instrument_id, row), rows.table.quantity[row]}] = true;
  for (const std::uint32_t row : order) {
    const std::int32_t name = rows.code(TextName::instrument_id, row);
    if (name < 0 || rows.day[row] == Rows::no_day || !has_checks.contains({name, rows.table.quantity[row]})) continue;
    MeterRows& meter = meters[{name, rows.table.quantity[row]}];
    if (!rows.is_check[row]) {
      meter.readings.push_back(row);
      continue;
    }
    const double reference = rows.table.at(NumberName::reference_value, row);
    if (!rows.exact(row) || !std::isfinite(reference)) continue;
    const Meter* const known = rows.meter(row);
    const double value = rows.table.value[row] * (1 + (known == nullptr ? 0 : known->correction));
    if (!is_of_the_right_size(value, reference)) continue;
    const double bound = allowed(rows, row, reference, class_bound);
    if (bound > 0) meter.checks.push_back({.row = row, .deviation = (value - reference) / bound});
  }
  return meters;
}

/// A stretch of checks whose running median leaves the sheet: marks the meter's readings until it is back inside.
class Drift {
 public:
  Drift(const Rows& rows, const MeterRows& meter) : rows_(rows), meter_(meter) {}

  Found operator()() {
    std::vector<double> window;
    for (std::size_t i = 0; i < meter_.checks.size(); ++i) {
      const std::size_t first = i + 1 > checks_in_a_median ? i + 1 - checks_in_a_median : 0;
      window.clear();
      for (std::size_t k = first; k <= i; ++k) window.push_back(meter_.checks[k].deviation);
      const double middle = window.size() >= least_checks ? median(window) : 0;
      if (std::abs(middle) > 1)
        extend(meter_.checks[i].row, middle);
      else
        close(rows_.day[meter_.checks[i].row]);
    }
    close(INT32_MAX);
    return std::move(found_);
  }

 private:
  void extend(std::size_t check, double deviation) {
    if (shown_by_.empty()) from_ = rows_.day[check];
    shown_by_.push_back(check);
    if (std::abs(deviation) > std::abs(largest_)) largest_ = deviation;
  }

  void close(std::int32_t until) {
    if (shown_by_.empty()) return;
    const auto day = [this](std::size_t row) { return rows_.day[row]; };
    const auto first = std::ranges::lower_bound(meter_.readings, from_, {}, day);
    const auto last = std::ranges::lower_bound(meter_.readings, until, {}, day);
    const std::string_view name = rows_.word(TextName::instrument_id, shown_by_.front());
    std::vector<std::size_t> marked(first, last);
    marked.insert(marked.end(), shown_by_.begin(), shown_by_.end());
    std::ranges::sort(marked);
    found_.push_back({.finding = Finding::meter_drift_suspected,
                      .rows = std::move(marked),
                      .shown_by = shown_by_,
                      .statistic = largest_,
                      .threshold = 1,
                      .sentence = sentence(name, " leaves its sheet at known values from ", date(from_),
                                           " on, by up to ", number(std::abs(largest_)),
                                           " of what the sheet allows, reading ", largest_ > 0 ? "high" : "low")});
    shown_by_.clear();
    largest_ = 0;
  }

  const Rows& rows_;
  const MeterRows& meter_;
  std::vector<std::size_t> shown_by_;
  std::int32_t from_ = 0;
  double largest_ = 0;
  Found found_;
};

}  // namespace

Found drifting_meters(const Rows& rows, const Settings& settings) {
  Found found;
  for (const auto& [key, meter] : rows_by_meter(rows, settings.class_bound))
    for (Evidence& evidence : Drift(rows, meter)()) found.push_back(std::move(evidence));
  return found;
}

namespace {

/// Below this no insulation tester reads anything: an ohmmeter, a continuity range.
constexpr double least_insulation_ohm = 20;
constexpr std::size_t least_equal_points = 3;
/// Digits of a number that is no round one.
constexpr double least_digits = 100;

bool is_voltage(QuantityKind quantity) noexcept {
  return quantity == QuantityKind::dc_voltage || quantity == QuantityKind::ac_voltage;
}

/// A known source that the meter does not show: everything that it read in this job since the last good check.
void add_failed_checks(const Rows& rows, Found& found) {
  for (std::size_t job = 0; job < rows.job.size(); ++job) {
    const std::span<const std::uint32_t> members = rows.job.rows(job);
    for (std::size_t i = 0; i < members.size(); ++i) {
      const std::uint32_t check = members[i];
      const double reference = rows.table.at(NumberName::reference_value, check);
      const double value = rows.table.censoring[check] == Censoring::below ? 0 : rows.table.value[check];
      if (!rows.is_check[check] || !is_voltage(rows.table.quantity[check]) || !(reference > 0) ||
          !(std::abs(value) < 0.5 * reference))
        continue;
      Evidence evidence{.finding = Finding::wrong_function_suspected,
                        .rows = {check},
                        .shown_by = {check},
                        .statistic = value,
                        .threshold = 0.5 * reference,
                        .sentence = sentence("a source of ", with_unit(reference, rows.table.quantity[check]),
                                             " reads ", with_unit(value, rows.table.quantity[check]),
                                             ": what this meter read before in this job is void")};
      for (std::size_t k = i; k-- > 0;) {
        const std::uint32_t row = members[k];
        if (!is_voltage(rows.table.quantity[row]) || rows.code(TextName::instrument_id, row) < 0 ||
            rows.code(TextName::instrument_id, row) != rows.code(TextName::instrument_id, check))
          continue;
        if (rows.is_check[row]) break;
        evidence.rows.push_back(row);
      }
      std::ranges::sort(evidence.rows);
      found.push_back(std::move(evidence));
    }
  }
}

void add_outside_every_range(const Rows& rows, Found& found) {
  for (std::size_t row = 0; row < rows.size(); ++row) {
    if (!rows.exact(row) || rows.is_check[row]) continue;
    const QuantityKind quantity = rows.table.quantity[row];
    const double value = rows.table.value[row];
    const Meter* const meter = rows.meter(row);
    const double highest = meter == nullptr ? nan : ceiling(*meter, quantity, nan);
    const bool above = meter != nullptr && value > highest * (1 + 1e-9);
    const bool below = quantity == QuantityKind::insulation_resistance && value >= 0 && value <= least_insulation_ohm;
    if (!above && !below) continue;
    found.push_back(
        {.finding = Finding::wrong_function_suspected,
         .rows = {row},
         .shown_by = {},
         .statistic = value,
         .threshold = above ? highest : least_insulation_ohm,
         .sentence = sentence(with_unit(value, quantity), above ? " is above every range of " : " is below what ",
                              above ? std::string_view{meter->id} : std::string_view{"an insulation tester reads"})});
  }
}

/// One number that is no round one, nor zero, on several parts in a row.
void add_one_number_everywhere(const Rows& rows, Found& found) {
  std::vector<std::size_t> run;
  const auto close = [&] {
    if (run.size() >= least_equal_points)
      found.push_back({.finding = Finding::wrong_function_suspected,
                       .rows = run,
                       .shown_by = {},
                       .statistic = static_cast<double>(run.size()),
                       .threshold = static_cast<double>(least_equal_points),
                       .sentence = sentence("one number, ",
                                            with_unit(rows.table.value[run.front()], rows.table.quantity[run.front()]),
                                            ", on ", std::to_string(run.size()), " different parts in a row")});
    run.clear();
  };
  const auto tells = [&](std::size_t row) {
    const double digits = std::abs(rows.table.value[row]) / rows.table.resolution[row];
    return rows.exact(row) && !rows.is_check[row] && rows.code(TextName::part, row) >= 0 && digits >= least_digits &&
           rows.table.quantity[row] != QuantityKind::module_voltage &&
           rows.table.quantity[row] != QuantityKind::resting_voltage;
  };
  for (std::size_t job = 0; job < rows.job.size(); ++job) {
    for (const std::uint32_t row : rows.job.rows(job)) {
      const bool goes_on = !run.empty() && tells(row) && rows.table.quantity[row] == rows.table.quantity[run.back()] &&
                           rows.table.value[row] == rows.table.value[run.back()] &&
                           std::ranges::none_of(run, [&](std::size_t other) {
                             return rows.code(TextName::part, other) == rows.code(TextName::part, row);
                           });
      if (!goes_on) close();
      if (goes_on || tells(row)) run.push_back(row);
    }
    close();
  }
}

}  // namespace

Found wrong_functions(const Rows& rows, const Settings&) {
  Found found;
  add_failed_checks(rows, found);
  add_outside_every_range(rows, found);
  add_one_number_everywhere(rows, found);
  return found;
}

}  // namespace ohmward::screening
