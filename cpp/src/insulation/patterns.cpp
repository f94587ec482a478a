#include "ohmward/insulation/patterns.hpp"

#include "ohmward/numerics/elementary.hpp"

namespace ohmward::insulation {
namespace {

using uncertainty::Quantity;

/// Settings without a source: what is near 1, and what can be called more.
constexpr double near_one = 1.15, plainly_more = 1.5;

double lower_end(const Quantity& q) noexcept { return q.value * numerics::exp(-2 * q.standard_uncertainty()); }
double upper_end(const Quantity& q) noexcept { return q.value * numerics::exp(2 * q.standard_uncertainty()); }
bool known(const Quantity& q) noexcept { return has_value(q.status); }
bool surely_above(const Quantity& q, double edge) noexcept {
  return known(q) && q.censoring != Censoring::below && lower_end(q) > edge;
}
bool surely_below(const Quantity& q, double edge) noexcept {
  return known(q) && q.censoring != Censoring::above && upper_end(q) < edge;
}

}  // namespace

std::vector<PatternFound> consistent_with(const PatternEvidence& e) {
  std::vector<PatternFound> found;
  const bool could_show_more = has_value(e.attainable.status) && !e.attainable.excludes(plainly_more);
  if (could_show_more && surely_below(e.index, near_one))
    found.push_back({Pattern::moisture, "the index is near 1 although this part could have shown more",
                     "dry the part and read again at the same temperature"});
  if (surely_above(e.dried_over_before, plainly_more))
    found.push_back({Pattern::moisture, "drying raised the reading", "read again after a night in dry air"});
  if (has_value(e.steps.status) && e.steps.falls)
    found.push_back({Pattern::moisture, "the resistance falls with the test voltage",
                     "repeat the steps after drying; if it stays, look for a crack or a track"});
  if (surely_above(e.guarded_over_plain, plainly_more))
    found.push_back(
        {Pattern::surface, "the guard raised the reading", "clean and dry the surface, read without guard"});
  const bool low_or_open = known(e.resistance) && e.resistance.censoring != Censoring::above;
  if (low_or_open && e.above_dew_point_kelvin <= 0)
    found.push_back({Pattern::surface, "the surface lies at or below the dew point",
                     "read again when the part is warmer than the dew point"});
  const bool over_range = e.resistance.censoring == Censoring::above || e.resistance.censoring == Censoring::overload;
  if (over_range && !e.contact_shown)
    found.push_back({Pattern::contact, "over range, and nothing shows that the leads touched the part",
                     "read a capacitance or a known resistor across the part"});
  const bool like_a_monitor = known(e.resistance) && e.resistance.censoring == Censoring::exact &&
                              e.resistance.value >= monitor_low_ohm && e.resistance.value <= monitor_high_ohm;
  if (like_a_monitor && !e.alone)
    found.push_back({Pattern::monitor_left_on,
                     "the reading lies where isolation monitors lie, and nothing says that it was off",
                     "disconnect the isolation monitor and read again"});
  const bool falls_in_time = surely_below(e.index, 1);
  if (falls_in_time)
    found.push_back({Pattern::leftover_charge, "the resistance falls with time",
                     "discharge for at least four times the charging time and repeat"});
  if (e.rested_over_tested < enough_rest)
    found.push_back({Pattern::leftover_charge,
                     "the part rested for less than four times as long as it was tested before",
                     "discharge for at least four times the charging time and repeat"});
  const bool unexplained = e.settling.status == Status::drift_present && e.settling.slope > 0;
  const bool more_than_it_can =
      known(e.index) && has_value(e.attainable.status) && surely_above(e.index, e.attainable.value);
  if (unexplained || more_than_it_can) {
    const bool warm = e.part_warmer_than_air_kelvin > 0;
    found.push_back({Pattern::cooling,
                     warm ? "it rises more than this part's absorption can explain, and the part is warmer than the air"
                          : "it rises more than this part's absorption can explain",
                     "log the part's temperature through the test, or repeat when it has cooled"});
  }
  if (e.cooled_kelvin >= least_drift_kelvin)
    found.push_back({Pattern::cooling, "the logged temperature fell during the run",
                     "refer each reading to one temperature by its own, and form the ratio anew"});
  return found;
}

}  // namespace ohmward::insulation
