#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>

#include "ohmward/numerics/elementary.hpp"
#include "screening/kinds_of_marks.hpp"
#include "screening/robust.hpp"
#include "screening/sessions.hpp"
#include "screening/visits.hpp"
#include "screening/wording.hpp"

namespace ohmward::screening {
namespace {

constexpr std::size_t least_visits = 3;
constexpr std::size_t least_objects = 8;
constexpr std::size_t readings_running = 3;

double tenfold(double decades) noexcept { return numerics::exp2(decades * 3.3219280948873623479); }

/// Median of values whose order must stay.
double median_of(std::vector<double> values) { return median(values); }

Evidence unlike(std::vector<std::size_t> rows, double statistic, double threshold, std::string text) {
  return {.finding = Finding::unlike_its_like,
          .rows = std::move(rows),
          .shown_by = {},
          .statistic = statistic,
          .threshold = threshold,
          .sentence = std::move(text)};
}

}  // namespace

/// A joint above its own earlier visits, the session's offset taken out.
Found unlike_joints(const Rows& rows, const Settings& settings) {
  const std::vector<SessionOffset> offsets = bonding_offsets(rows);
  std::vector<double> corrected(rows.size(), nan);
  std::vector<double> as_read(rows.size(), nan);
  for (std::size_t row = 0; row < rows.size(); ++row) {
    if (!is_bonding(rows, row)) continue;
    const std::int32_t session = rows.session.of(row);
    const double offset = session == Grouping::none ? nan : offsets[static_cast<std::size_t>(session)].ohm;
    corrected[row] = rows.table.value[row] - (std::isnan(offset) ? 0 : offset);
    // as read, too, it must lie above: an offset found in a session of poor joints is none
    as_read[row] = rows.table.value[row];
  }
  Found found;
  std::vector<double> earlier;
  std::vector<double> earlier_raw;
  for (std::size_t point = 0; point < rows.point.size(); ++point) {
    const std::span<const std::uint32_t> members = rows.point.rows(point);
    if (!is_bonding(rows, members.front()) &&
        std::ranges::none_of(members, [&](std::uint32_t row) { return is_bonding(rows, row); }))
      continue;
    const std::vector<Visit> all = visits(rows, members, corrected);
    const std::vector<Visit> raw = visits(rows, members, as_read);
    earlier.clear();
    earlier_raw.clear();
    for (std::size_t i = 0; i < all.size(); ++i) {
      if (earlier.size() >= least_visits - 1) {
        const double usual = median_of(earlier);
        const double jump = std::min(all[i].value - usual, raw[i].value - median_of(earlier_raw));
        if (jump >= settings.joint_jump_ohm)
          found.push_back(
              unlike(all[i].rows, jump, settings.joint_jump_ohm,
                     sentence("shows ", with_unit(all[i].value, QuantityKind::bonding_resistance),
                              ", at earlier visits about ", with_unit(usual, QuantityKind::bonding_resistance))));
      }
      earlier.push_back(all[i].value);
      earlier_raw.push_back(raw[i].value);
    }
  }
  return found;
}

namespace {

/// Objects of one kind of part against each other, and single batteries against all.
class UnlikeParts {
 public:
  UnlikeParts(const Rows& rows, const Settings& settings) : rows_(rows), settings_(settings) {}

  Found operator()() {
    of_kind_.resize(rows_.kind.size());
    for (std::size_t group = 0; group < rows_.history.size(); ++group) {
      const std::uint32_t first = rows_.history.rows(group).front();
      if (const Scaled scaled = scale(first); scaled.looked_at)
        of_kind_[static_cast<std::size_t>(rows_.kind.of(first))].push_back(group);
    }
    for (std::size_t kind = 0; kind < of_kind_.size(); ++kind) {
      if (of_kind_[kind].size() >= least_objects) compare_objects(kind);
      compare_batteries(kind);
    }
    return std::move(found_);
  }

 private:
  struct Scaled {
    bool looked_at = false;
    bool logarithmic = false;
  };
  [[nodiscard]] Scaled scale(std::size_t row) const noexcept {
    switch (rows_.table.quantity[row]) {
      case QuantityKind::insulation_resistance: return {.looked_at = true, .logarithmic = true};
      case QuantityKind::resting_voltage: return {.looked_at = true, .logarithmic = false};
      default: return {};
    }
  }
  [[nodiscard]] double value(std::size_t row) const noexcept {
    return scale(row).logarithmic ? rows_.decade[row] : rows_.exact(row) ? rows_.table.value[row] : nan;
  }
  [[nodiscard]] std::string shown(double value, std::size_t row) const {
    return with_unit(scale(row).logarithmic ? tenfold(value) : value, rows_.table.quantity[row]);
  }

  void compare_objects(std::size_t kind) {
    struct Object {
      std::vector<std::size_t> rows{};
      double centre = nan;
    };
    std::vector<Object> objects;
    std::vector<double> values;
    for (const std::size_t group : of_kind_[kind]) {
      Object object;
      values.clear();
      for (const std::uint32_t row : rows_.history.rows(group)) {
        if (std::isnan(value(row))) continue;
        object.rows.push_back(row);
        values.push_back(value(row));
      }
      if (values.size() < least_visits) continue;
      object.centre = median(values);
      objects.push_back(std::move(object));
    }
    if (objects.size() < least_objects) return;
    values.clear();
    for (const Object& object : objects) values.push_back(object.centre);
    Spread like = spread(values);
    const std::size_t first = objects.front().rows.front();
    const double least = scale(first).logarithmic ? settings_.unlike_part_decade
                                                  : settings_.unlike_battery_share * std::abs(like.centre);
    like.deviation = std::max(like.deviation, least);
    for (Object& object : objects) {
      const double deviations = (object.centre - like.centre) / like.deviation;
      const bool low = deviations < 0;
      if (!(std::abs(deviations) >= settings_.unlike_object_deviations) || (scale(first).logarithmic && !low)) continue;
      std::erase_if(object.rows, [&](std::size_t row) {
        return low ? value(row) > object.centre + like.deviation : value(row) < object.centre - like.deviation;
      });
      std::string text = sentence("its readings are about ", shown(object.centre, first), ", those of ",
                                  std::to_string(objects.size()), " like it about ", shown(like.centre, first));
      found_.push_back(unlike(std::move(object.rows), deviations, settings_.unlike_object_deviations, std::move(text)));
    }
  }

  /// One battery far below all readings of its kind: a lost cell, not a low charge.
  void compare_batteries(std::size_t kind) {
    const std::span<const std::uint32_t> members = rows_.kind.rows(kind);
    if (rows_.table.quantity[members.front()] != QuantityKind::resting_voltage || members.size() < least_objects)
      return;
    std::vector<double> values;
    for (const std::uint32_t row : members)
      if (!std::isnan(value(row))) values.push_back(value(row));
    Spread like = spread(values);
    like.deviation = std::max(like.deviation, settings_.low_battery_share * std::abs(like.centre));
    for (const std::uint32_t row : members) {
      const double deviations = (value(row) - like.centre) / like.deviation;
      if (!(deviations <= -settings_.unlike_deviations)) continue;
      found_.push_back(
          unlike({row}, deviations, -settings_.unlike_deviations,
                 sentence("reads ", shown(value(row), row), ", its like about ", shown(like.centre, row))));
    }
  }

  const Rows& rows_;
  const Settings& settings_;
  std::vector<std::vector<std::size_t>> of_kind_;
  Found found_;
};

/// Both batteries of a pair in one job.
struct Pair {
  std::int32_t day = Rows::no_day;
  std::size_t a = 0;
  std::size_t b = 0;
  double difference_volt = nan;
};

}  // namespace

Found unlike_parts(const Rows& rows, const Settings& settings) { return UnlikeParts(rows, settings)(); }

Found unlike_pairs(const Rows& rows, const Settings& settings) {
  const TextColumn& parts = rows.table.column(TextName::part);
  const std::int32_t battery_a = parts.code_of("battery_a");
  const std::int32_t battery_b = parts.code_of("battery_b");
  Found found;
  if (battery_a < 0 || battery_b < 0) return found;
  constexpr std::size_t none = ~std::size_t{0};
  std::map<std::int32_t, std::vector<Pair>> of_object;
  for (std::size_t job = 0; job < rows.job.size(); ++job) {
    std::size_t a = none;
    for (const std::uint32_t row : rows.job.rows(job)) {
      if (rows.table.quantity[row] != QuantityKind::resting_voltage || !rows.exact(row)) continue;
      if (parts.code(row) == battery_a) a = row;
      const std::int32_t object = rows.code(TextName::object_id, row);
      if (parts.code(row) != battery_b || a == none || object < 0 || rows.code(TextName::object_id, a) != object)
        continue;
      of_object[object].push_back(
          {.day = rows.day[row], .a = a, .b = row, .difference_volt = rows.table.value[a] - rows.table.value[row]});
      a = none;
    }
  }
  // Of one reading that jumps, only the battery that is farther from its like; of a pair that drifts, both.
  std::vector<double> usual(rows.kind.size(), nan);
  const auto away = [&](std::size_t row) {
    const auto kind = static_cast<std::size_t>(rows.kind.of(row));
    if (std::isnan(usual[kind])) {
      std::vector<double> values;
      for (const std::uint32_t other : rows.kind.rows(kind))
        if (rows.exact(other)) values.push_back(rows.table.value[other]);
      usual[kind] = median(values);
    }
    return std::abs(rows.table.value[row] - usual[kind]);
  };
  const auto marked = [&](const Pair& pair, bool both) {
    if (!both) return std::vector<std::size_t>{away(pair.a) > away(pair.b) ? pair.a : pair.b};
    return std::vector<std::size_t>{std::min(pair.a, pair.b), std::max(pair.a, pair.b)};
  };
  std::vector<double> running;
  for (auto& [object, pairs] : of_object) {
    std::ranges::stable_sort(pairs, {}, &Pair::day);
    for (std::size_t i = 0; i < pairs.size(); ++i) {
      running.clear();
      for (std::size_t k = i + 1 >= readings_running ? i + 1 - readings_running : i; k <= i; ++k)
        running.push_back(pairs[k].difference_volt);
      const double lasting = running.size() == readings_running ? median(running) : 0;
      const double now = pairs[i].difference_volt;
      const bool drifts = std::abs(lasting) >= settings.pair_drift_volt && lasting * now > 0;
      if (!drifts && !(std::abs(now) >= settings.pair_jump_volt)) continue;
      found.push_back(
          {.finding = Finding::imbalance,
           .rows = marked(pairs[i], drifts),
           .shown_by = {},
           .statistic = drifts ? lasting : now,
           .threshold = drifts ? settings.pair_drift_volt : settings.pair_jump_volt,
           .sentence = sentence("the two batteries differ by ", with_unit(std::abs(now), QuantityKind::resting_voltage),
                                drifts ? ", and did so in three readings running" : "")});
    }
  }
  return found;
}

}  // namespace ohmward::screening
