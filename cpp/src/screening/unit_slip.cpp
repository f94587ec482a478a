#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "ohmward/numerics/elementary.hpp"
#include "ohmward/numerics/normal.hpp"
#include "screening/kinds_of_marks.hpp"
#include "screening/robust.hpp"
#include "screening/visits.hpp"
#include "screening/wording.hpp"

namespace ohmward::screening {
namespace {

/// Least values that tell a spread.
constexpr std::size_t enough_rows = 8;
constexpr std::size_t enough_objects = 5;
constexpr std::size_t enough_own_rows = 4;
/// Least standard deviation between objects of one kind, and of a point about itself where the rows do not tell it.
constexpr double least_between_decade = 0.3;

bool can_slip(const Rows& rows, std::size_t row) noexcept {
  switch (rows.table.quantity[row]) {
    case QuantityKind::insulation_resistance:
    case QuantityKind::bonding_resistance:
    case QuantityKind::winding_resistance:
    case QuantityKind::loop_resistance:
    case QuantityKind::resting_voltage:
    case QuantityKind::module_voltage:
    case QuantityKind::capacitance: return !std::isnan(rows.decade[row]);
    case QuantityKind::insulation_ratio:
    case QuantityKind::dc_voltage:
    case QuantityKind::ac_voltage:
    case QuantityKind::temperature: return false;
  }
  return false;
}

/// What a kind of part usually shows, in decades.
struct KindScale {
  double centre = nan;
  double between = nan;  ///< standard deviation of objects about the centre
  double within = nan;   ///< of a reading about its own history
};

/// Where a reading is expected.
struct Prediction {
  double centre = nan;
  double deviation = nan;
  double tail_share = 0;  ///< share of readings that spread further
  double tail_deviation = 1;

  [[nodiscard]] double density(double decade) const noexcept {
    const double away = decade - centre;
    return (1 - tail_share) / deviation * numerics::normal_density(away / deviation) +
           tail_share / tail_deviation * numerics::normal_density(away / tail_deviation);
  }
};

struct Slip {
  int decades = 0;  ///< written over true, as a power of ten
  double probability = 0;
};

class SlipTest {
 public:
  SlipTest(const Rows& rows, const Settings& settings) : rows_(rows), settings_(settings) {}

  Found operator()() {
    scale_kinds();
    for (std::size_t group = 0; group < rows_.history.size(); ++group) test(rows_.history.rows(group));
    return std::move(found_);
  }

 private:
  /// Objects count alike, however often each was read: a wet motor that was followed for weeks is one motor.
  void scale_kinds() {
    std::vector<std::vector<double>> within(rows_.kind.size());
    std::vector<std::vector<double>> centres(rows_.kind.size());
    std::vector<double> values;
    for (std::size_t group = 0; group < rows_.history.size(); ++group) {
      const std::span<const std::uint32_t> members = rows_.history.rows(group);
      values.clear();
      for (const std::uint32_t row : members)
        if (can_slip(rows_, row)) values.push_back(rows_.decade[row]);
      if (values.empty()) continue;
      const auto kind = static_cast<std::size_t>(rows_.kind.of(members.front()));
      const double centre = median(values);
      centres[kind].push_back(centre);
      if (values.size() < enough_own_rows) continue;
      for (const double value : values) within[kind].push_back(std::abs(value - centre));
    }
    scales_.resize(rows_.kind.size());
    for (std::size_t kind = 0; kind < scales_.size(); ++kind) {
      KindScale& scale = scales_[kind];
      if (within[kind].size() >= enough_rows) scale.within = deviation_of_mad * median(within[kind]);
      if (!(scale.within > settings_.own_spread_decade)) scale.within = settings_.own_spread_decade;
      scale.between = settings_.kind_spread_decade;
      if (centres[kind].size() < enough_objects) continue;
      const Spread between = spread(centres[kind]);
      scale.centre = between.centre;
      scale.between = std::max(between.deviation, least_between_decade);
    }
  }

  void test(std::span<const std::uint32_t> members) {
    sorted_.clear();
    for (const std::uint32_t row : members)
      if (can_slip(rows_, row)) sorted_.push_back({rows_.decade[row], row});
    if (sorted_.empty()) return;
    std::ranges::sort(sorted_);
    values_.clear();
    for (const auto& [value, row] : sorted_) values_.push_back(value);
    const KindScale& scale = scales_[static_cast<std::size_t>(rows_.kind.of(members.front()))];
    for (std::size_t i = 0; i < sorted_.size(); ++i) {
      const auto& [value, row] = sorted_[i];
      const double own = median_without(values_, i);
      const Slip slip = judge(value, own, values_.size() - 1, scale);
      if (slip.decades != 0 && !agrees_in_time(members, row)) report(row, slip, own, scale);
    }
  }

  /// The own history drawn towards the kind by how well each is known: the usual estimate of a random effect.
  Prediction prediction(double own, std::size_t count, const KindScale& scale) const noexcept {
    const double within = scale.within * scale.within;
    const auto predicted = [&](double centre, double variance) {
      const double deviation = numerics::sqrt(variance);
      return Prediction{.centre = centre,
                        .deviation = deviation,
                        .tail_share = count >= enough_own_rows ? settings_.tail_share : 0,
                        .tail_deviation = std::max(deviation, settings_.tail_decade)};
    };
    if (std::isnan(scale.centre)) return predicted(own, within * (1 + 1 / static_cast<double>(count)));
    const double between = scale.between * scale.between;
    if (count == 0) return predicted(scale.centre, within + between);
    const double weight = between / (between + within / static_cast<double>(count));
    return predicted(weight * own + (1 - weight) * scale.centre, within + between * (1 - weight));
  }

  Slip judge(double value, double own, std::size_t count, const KindScale& scale) const noexcept {
    if (count < enough_own_rows && std::isnan(scale.centre)) return {};
    const Prediction expected = prediction(own, count, scale);
    const Prediction of_kind = prediction(nan, 0, scale);
    // one or two other readings may themselves be the slips: then the kind has a say of its own
    const bool few = count < 3 && !std::isnan(scale.centre);
    const auto density = [&](double decade) {
      return few ? std::max(expected.density(decade), of_kind.density(decade)) : expected.density(decade);
    };
    struct Kind {
      int decades;
      double share;  ///< of all slips; two prefixes at once are rare
    };
    constexpr std::array slips{Kind{-6, 0.05}, Kind{-3, 0.45}, Kind{3, 0.45}, Kind{6, 0.05}};
    double total = (1 - settings_.slip_share - settings_.outlier_share) * density(value) +
                   settings_.outlier_share / settings_.outlier_span_decade;
    Slip best;
    for (const auto& [decades, share] : slips) {
      const double weight = settings_.slip_share * share * density(value - decades);
      total += weight;
      if (weight > best.probability) best = {.decades = decades, .probability = weight};
    }
    best.probability /= total;
    return best.probability > settings_.slip_probability ? best : Slip{};
  }

  /// The visit before or after shows the same: a change of the part, not of the pen. Of a visit, the middle counts,
  /// so that a second slip does not clear the first.
  [[nodiscard]] bool agrees_in_time(std::span<const std::uint32_t> members, std::uint32_t row) const {
    const std::vector<Visit> all = visits(rows_, members, rows_.decade);
    const auto own = std::ranges::find_if(
        all, [row](const Visit& visit) { return std::ranges::find(visit.rows, row) != visit.rows.end(); });
    const auto agrees = [&](const Visit& visit) {
      return visit.day != Rows::no_day &&
             std::abs(static_cast<double>(visit.day) - own->day) <= settings_.agreeing_day &&
             std::abs(visit.value - rows_.decade[row]) <= settings_.agreeing_decade;
    };
    return (own != all.begin() && agrees(*(own - 1))) || (own + 1 != all.end() && agrees(*(own + 1)));
  }

  void report(std::uint32_t row, const Slip& slip, double own, const KindScale& scale) {
    const QuantityKind quantity = rows_.table.quantity[row];
    const bool has_own = !std::isnan(own);
    const double usual = has_own ? own : scale.centre;
    const double factor = numerics::exp2(std::numbers::ln10 / std::numbers::ln2 * slip.decades);
    found_.push_back(
        {.finding = Finding::unit_slip_suspected,
         .rows = {row},
         .shown_by = {},
         .statistic = slip.probability,
         .threshold = settings_.slip_probability,
         .sentence = sentence(with_unit(rows_.table.value[row], quantity), " where ",
                              has_own ? "its other readings" : "its like", " show about ",
                              with_unit(numerics::exp2(std::numbers::ln10 / std::numbers::ln2 * usual), quantity),
                              "; meant may be ", with_unit(rows_.table.value[row] / factor, quantity))});
  }

  const Rows& rows_;
  const Settings& settings_;
  std::vector<KindScale> scales_;
  std::vector<std::pair<double, std::uint32_t>> sorted_;
  std::vector<double> values_;
  Found found_;
};

}  // namespace

Found unit_slips(const Rows& rows, const Settings& settings) { return SlipTest(rows, settings)(); }

}  // namespace ohmward::screening
