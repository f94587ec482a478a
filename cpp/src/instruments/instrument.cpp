#include "ohmward/instruments/instrument.hpp"

#include <algorithm>
#include <boost/math/distributions/normal.hpp>
#include <cmath>
#include <numbers>

#include "ohmward/core/errors.hpp"
#include "statistics/quiet_policy.hpp"

namespace ohmward::instruments {
namespace {

void require(bool holds, const std::string& field, double value, std::string_view expected) {
  if (!holds) throw InvalidParameter(field, value, expected);
}

bool at_least_zero(double value) { return value >= 0 && std::isfinite(value); }

void validate(const Statement& statement, const std::string& where) {
  const double value = statement.value;
  if (statement.kind == Statement::Kind::k)
    require(value > 0 && std::isfinite(value), where + ".statement.value", value, "a coverage factor above 0");
  if (statement.kind == Statement::Kind::level)
    require(value > 0 && value < 1, where + ".statement.value", value, "a level between 0 and 1");
}

void validate(const Range& range, const std::string& where) {
  require(std::isnan(range.test_voltage_volt) || range.test_voltage_volt > 0, where + ".test_voltage_volt",
          range.test_voltage_volt, "above 0, or absent");
  require(std::isfinite(range.low), where + ".low", range.low, "a finite number");
  require(range.high > range.low, where + ".high", range.high, "above low");
  require(at_least_zero(range.display_step), where + ".display_step", range.display_step, "0 or above");
  require(at_least_zero(range.reading_percent), where + ".reading_percent", range.reading_percent, "0 or above");
  require(at_least_zero(range.counts), where + ".counts", range.counts, "0 or above");
  require(at_least_zero(range.range_percent), where + ".range_percent", range.range_percent, "0 or above");
  require(range.gain_share >= 0 && range.gain_share <= 1, where + ".gain_share", range.gain_share, "0 … 1");
  require(range.range_percent == 0 || std::isfinite(range.high), where + ".high", range.high,
          "finite where range_percent is given");
}

void validate(const CertificatePoint& point, const std::string& where) {
  require(point.value > 0 && std::isfinite(point.value), where + ".value", point.value, "above 0");
  require(std::isfinite(point.correction) && point.correction > -1, where + ".correction", point.correction,
          "a fraction above -1");
  require(at_least_zero(point.expanded_uncertainty), where + ".expanded_uncertainty", point.expanded_uncertainty,
          "a fraction of 0 or above");
  require(point.coverage_factor > 0 && std::isfinite(point.coverage_factor), where + ".coverage_factor",
          point.coverage_factor, "above 0");
}

bool overlap(const Validity& a, const Validity& b) noexcept {
  return a.from_day <= b.until_day && b.from_day <= a.until_day;
}

/// Days between a day and a validity; 0 inside. Computed in doubles: open ends are far out.
double days_outside(const Validity& valid, std::int64_t day) noexcept {
  const auto distance = [](std::int64_t from, std::int64_t to) {
    return static_cast<double>(to) - static_cast<double>(from);
  };
  if (day < valid.from_day) return distance(day, valid.from_day);
  if (day > valid.until_day) return distance(valid.until_day, day);
  return 0;
}

}  // namespace

double Statement::divisor() const noexcept {
  switch (kind) {
    case Kind::bound: return std::numbers::sqrt3;
    case Kind::k: return value;
    case Kind::level:
      return boost::math::quantile(boost::math::normal_distribution<double, statistics::QuietPolicy>(),
                                   0.5 + 0.5 * value);
  }
  return nan;
}

void validate(const Instrument& instrument) {
  const std::string where = "instrument " + instrument.id;
  if (instrument.id.empty()) throw InvalidParameter("instrument.id", "empty", "a name");
  require(std::isnan(instrument.input_ohm) || instrument.input_ohm > 0, where + ".input_ohm", instrument.input_ohm,
          "above 0, or absent");
  require(std::isnan(instrument.source_ampere) || instrument.source_ampere > 0, where + ".source_ampere",
          instrument.source_ampere, "above 0, or absent");
  if (instrument.valid.from_day > instrument.valid.until_day)
    throw InvalidParameter(where + ".valid_until", "before valid_from", "a later date");
  require(at_least_zero(instrument.temperature_coefficient), where + ".temperature_coefficient",
          instrument.temperature_coefficient, "0 or above");
  require(at_least_zero(instrument.reads_zero_below), where + ".reads_zero_below", instrument.reads_zero_below,
          "0 or above");
  require(std::isfinite(instrument.correction) && instrument.correction > -1, where + ".correction",
          instrument.correction, "a fraction above -1");
  validate(instrument.statement, where);
  for (std::size_t i = 0; i < instrument.ranges.size(); ++i)
    validate(instrument.ranges[i], where + ".range[" + std::to_string(i) + "]");
  for (std::size_t i = 0; i < instrument.certificate.size(); ++i)
    validate(instrument.certificate[i], where + ".certificate[" + std::to_string(i) + "]");
}

Instruments::Instruments(std::vector<Instrument> instruments) : instruments_(std::move(instruments)) {
  for (std::size_t i = 0; i < instruments_.size(); ++i) {
    Instrument& instrument = instruments_[i];
    validate(instrument);
    std::ranges::sort(instrument.certificate, {}, &CertificatePoint::value);
    std::vector<std::int32_t>& entries = by_id_[instrument.id];
    for (const std::int32_t other : entries)
      if (overlap(instruments_[static_cast<std::size_t>(other)].valid, instrument.valid))
        throw InvalidParameter("instrument " + instrument.id + ".valid_from", "inside the dates of another entry",
                               "dates that do not overlap");
    entries.push_back(static_cast<std::int32_t>(i));
  }
}

std::int32_t Instruments::find(std::string_view id, std::int64_t day) const noexcept {
  const auto entry
  = by_id_.find(id);
  if (entry == by_id_.end()) return none;
  return *std::ranges::min_element(entry->second, {},
                                   [&](std::int32_t index) { return days_outside((*this)[index].valid, day); });
}

}  // namespace ohmward::instruments
