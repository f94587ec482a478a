#include <cmath>
#include <map>

#include "ohmward/numerics/elementary.hpp"
#include "screening/kinds_of_marks.hpp"
#include "screening/robust.hpp"
#include "screening/visits.hpp"
#include "screening/wholes.hpp"
#include "screening/wording.hpp"

namespace ohmward::screening {
namespace {

constexpr std::size_t least_visits = 3;
constexpr std::size_t least_objects = 5;

double log10_of(double value) noexcept { return numerics::log2(value) * 0.30102999566398119521; }
double tenfold(double decades) noexcept { return numerics::exp2(decades * 3.3219280948873623479); }

struct Object {
  std::size_t history = 0;
  std::vector<Visit> visits{};
  Spread own{};
};

class MonitorSearch {
 public:
  MonitorSearch(const Rows& rows, const Settings& settings)
      : rows_(rows),
        settings_(settings),
        low_(log10_of(settings.monitor_low_ohm)),
        high_(log10_of(settings.monitor_high_ohm)),
        monitor_ohm_(settings.monitor_ohm) {}

  Found operator()() {
    collect();
    for (const auto& [type, objects] : types_) {
      const double centre = centre_of(objects);
      for (const Object& object : objects)
        if (!always_on(object, objects.size(), centre)) single_visits(object);
    }
    return std::move(found_);
  }

 private:
  using Type = std::pair<std::int32_t, std::int32_t>;  ///< kind of object, kind of whole

  void collect() {
    std::vector<double> decade(rows_.size(), nan);
    for (std::size_t row = 0; row < rows_.size(); ++row)
      if (is_whole(rows_, row)) decade[row] = rows_.decade[row];
    for (std::size_t group = 0; group < rows_.history.size(); ++group) {
      const std::uint32_t first = rows_.history.rows(group).front();
      if (!is_one_of(rows_.word(TextName::part_kind, first), whole_kinds)) continue;
      Object object{.history = group, .visits = visits(rows_, rows_.history.rows(group), decade)};
      if (object.visits.empty()) continue;
      std::vector<double> values;
      values.reserve(object.visits.size());
      for (const Visit& visit : object.visits) values.push_back(visit.value);
      object.own = spread(values);
      types_[{rows_.code(TextName::object_kind, first), rows_.kind.of(first)}].push_back(std::move(object));
    }
  }

  static double centre_of(const std::vector<Object>& objects) {
    std::vector<double> centres;
    centres.reserve(objects.size());
    for (const Object& object : objects) centres.push_back(object.own.centre);
    return median(centres);
  }

  [[nodiscard]] bool in_band(double decade) const noexcept { return decade >= low_ && decade <= high_; }

  /// One object reads one low value at every visit, with less spread than its like.
  bool always_on(const Object& object, std::size_t objects, double centre) {
    const double drop = centre - object.own.centre;
    if (objects < least_objects || object.visits.size() < least_visits || !in_band(object.own.centre) ||
        !(drop >= settings_.monitor_drop_decade) || !(object.own.deviation <= settings_.monitor_spread_decade))
      return false;
    Evidence evidence{
        .finding = Finding::monitor_connected_suspected,
        .rows = {},
        .shown_by = {},
        .statistic = drop,
        .threshold = settings_.monitor_drop_decade,
        .sentence = sentence("reads about ", ohms(object.own.centre), " at ", std::to_string(object.visits.size()),
                             " visits, its like about ", ohms(centre))};
    for (const Visit& visit : object.visits)
      for (const std::size_t row : visit.rows)
        if (in_band(rows_.decade[row])) evidence.rows.push_back(row);
    std::ranges::sort(evidence.rows);
    found_.push_back(std::move(evidence));
    return true;
  }

  void single_visits(const Object& object) {
    std::vector<double> sorted;
    sorted.reserve(object.visits.size());
    for (const Visit& visit : object.visits) sorted.push_back(visit.value);
    std::ranges::sort(sorted);
    for (const Visit& visit : object.visits) {
      if (!in_band(visit.value) || object.visits.size() < least_visits) continue;
      const auto place = static_cast<std::size_t>(std::ranges::lower_bound(sorted, visit.value) - sorted.begin());
      const double others = median_without(sorted, place);
      if (!(others - visit.value >= settings_.monitor_drop_decade) ||
          !(std::abs(visit.value - beside_monitor(others)) <= settings_.monitor_fit_decade) || is_warm(visit))
        continue;
      found_.push_back({.finding = Finding::monitor_connected_suspected,
                        .rows = visit.rows,
                        .shown_by = {},
                        .statistic = others - visit.value,
                        .threshold = settings_.monitor_drop_decade,
                        .sentence = sentence("reads ", ohms(visit.value), ", at other visits about ", ohms(others))});
    }
  }

  [[nodiscard]] bool is_warm(const Visit& visit) const noexcept {
    return std::ranges::any_of(visit.rows, [this](std::size_t row) {
      return rows_.table.at(NumberName::part_celsius, row) >= settings_.monitor_warm_celsius;
    });
  }

  /// What the rest shows with the monitor in parallel.
  [[nodiscard]] double beside_monitor(double decade) const noexcept {
    const double rest = tenfold(decade);
    return log10_of(rest * monitor_ohm_ / (rest + monitor_ohm_));
  }

  static std::string ohms(double decade) { return with_unit(tenfold(decade), QuantityKind::insulation_resistance); }

  const Rows& rows_;
  const Settings& settings_;
  double low_;
  double high_;
  double monitor_ohm_;
  std::map<Type, std::vector<Object>> types_;
  Found found_;
};

}  // namespace

Found monitors_left_on(const Rows& rows, const Settings& settings) { return MonitorSearch(rows, settings)(); }

}  // namespace ohmward::screening
