#include "screening/rows.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "ohmward/numerics/elementary.hpp"

namespace ohmward::screening {
namespace {

constexpr double decades_per_log2 = 0.30102999566398119521;  // log10(2)

std::int32_t day_of(std::int64_t second) noexcept {
  constexpr std::int64_t seconds = 86400;
  if (second == readings::Moment::missing) return Rows::no_day;
  return static_cast<std::int32_t>(second >= 0 ? second / seconds : -((-second + seconds - 1) / seconds));
}

double decade_of(double value) noexcept { return value > 0 ? decades_per_log2 * numerics::log2(value) : nan; }

/// Days as a code that is never negative.
std::int32_t day_code(std::int32_t day) noexcept {
  constexpr std::int32_t offset = 1'000'000;
  return day == Rows::no_day ? -1 : day + offset;
}

bool same_voltage(double a, double b) noexcept { return std::isnan(a) || std::isnan(b) || a == b; }

}  // namespace

double ceiling(const Meter& meter, QuantityKind quantity, double test_voltage_volt) noexcept {
  double greatest = nan;
  for (const MeterRange& range : meter.ranges)
    if (range.quantity == quantity && same_voltage(range.test_voltage_volt, test_voltage_volt) &&
        std::isfinite(range.high) && !(range.high <= greatest))
      greatest = range.high;
  return greatest;
}

Rows::Rows(const Table& readings, std::span<const Meter> known_meters) : table(readings), meters(known_meters) {
  const std::size_t n = table.rows();
  decade.resize(n);
  day.resize(n);
  is_check.resize(n);
  const std::int32_t check_stage = table.column(TextName::stage).code_of("meter_check");
  const std::int32_t check_kind = table.column(TextName::part_kind).code_of("check");
  for (std::size_t row = 0; row < n; ++row) {
    decade[row] = exact(row) ? decade_of(table.value[row]) : nan;
    day[row] = day_of(table.taken_at_second[row]);
    const std::int32_t stage = code(TextName::stage, row);
    const std::int32_t of_kind = code(TextName::part_kind, row);
    is_check[row] = (stage >= 0 && stage == check_stage) || (of_kind >= 0 && of_kind == check_kind) ||
                    !std::isnan(table.at(NumberName::reference_value, row));
  }
  read_meters();
  read_kinds();
  group();
  bound.resize(n);
  for (std::size_t row = 0; row < n; ++row) bound[row] = over_range(row) ? lowest_ceiling(row) : nan;
}

void Rows::read_meters() {
  const TextColumn& names = table.column(TextName::instrument_id);
  meters_of_code_.resize(names.words().size());
  for (const Meter& known : meters) {
    const std::int32_t code = names.code_of(known.id);
    if (code >= 0) meters_of_code_[static_cast<std::size_t>(code)].push_back(&known);
    for (const MeterRange& range : known.ranges) {
      if (range.quantity != QuantityKind::insulation_resistance) continue;
      const double highest = ceiling(known, range.quantity, range.test_voltage_volt);
      if (!(highest >= lowest_insulation_ceiling_)) lowest_insulation_ceiling_ = highest;
    }
  }
}

const Meter* Rows::meter(std::size_t row) const noexcept {
  const std::int32_t name = code(TextName::instrument_id, row);
  if (name < 0) return nullptr;
  const Meter* best = nullptr;
  std::int64_t least = std::numeric_limits<std::int64_t>::max();
  for (const Meter* const each : meters_of_code_[static_cast<std::size_t>(name)]) {
    const std::int64_t on = day[row];
    const std::int64_t away = on < each->from_day    ? each->from_day - on
                              : on > each->until_day ? on - each->until_day
                                                     : 0;
    if (away < least || best == nullptr) {
      least = away;
      best = each;
    }
  }
  return best;
}

const MeterRange* Rows::range(std::size_t row) const noexcept {
  const Meter* const known = meter(row);
  if (known == nullptr) return nullptr;
  const double volt = table.at(NumberName::test_voltage_volt, row);
  const double size = std::abs(table.value[row]);
  const MeterRange* found = nullptr;
  for (const MeterRange& each : known->ranges)
    if (each.quantity == table.quantity[row] && same_voltage(each.test_voltage_volt, volt) && size <= each.high &&
        (found == nullptr || each.high < found->high))
      found = &each;
  return found;
}

double Rows::lowest_ceiling(std::size_t row) const noexcept {
  if (table.censoring[row] == Censoring::above) return table.value[row];
  const QuantityKind quantity = table.quantity[row];
  const Meter* const known = meter(row);
  const double volt = table.at(NumberName::test_voltage_volt, row);
  if (known == nullptr) return quantity == QuantityKind::insulation_resistance ? lowest_insulation_ceiling_ : nan;
  if (!std::isnan(volt)) return ceiling(*known, quantity, volt);
  double lowest = nan;
  for (const MeterRange& range : known->ranges) {
    if (range.quantity != quantity) continue;
    const double highest = ceiling(*known, quantity, range.test_voltage_volt);
    if (!(highest >= lowest)) lowest = highest;
  }
  return lowest;
}

/// Words of part kinds and of parts in one numbering: a part stands in where its kind is missing.
void Rows::read_kinds() {
  const TextColumn& kinds = table.column(TextName::part_kind);
  const auto kind_words = static_cast<std::int32_t>(kinds.words().size());
  kind_code_.resize(size());
  for (std::size_t row = 0; row < size(); ++row) {
    const std::int32_t of_kind = kinds.code(row);
    const std::int32_t part = code(TextName::part, row);
    kind_code_[row] = of_kind >= 0 ? of_kind : part >= 0 ? kind_words + part : -1;
  }
}

/// The instrument of a row; where it is not named, that of the other rows of its quantity in its job, if they agree.
/// Good enough to find who measured together; never to judge a value.
std::vector<std::int32_t> Rows::likely_instruments() const {
  const std::span<const std::int32_t> named = table.column(TextName::instrument_id).codes();
  std::vector<std::int32_t> likely(size(), TextColumn::missing);
  std::ranges::copy(named, likely.begin());
  std::array<std::int32_t, quantity_kinds.size()> of_quantity{};
  constexpr std::int32_t unknown = -1;
  constexpr std::int32_t several = -2;
  for (std::size_t each = 0; each < job.size(); ++each) {
    const std::span<const std::uint32_t> members = job.rows(each);
    of_quantity.fill(unknown);
    for (const std::uint32_t row : members) {
      std::int32_t& found = of_quantity[static_cast<std::size_t>(table.quantity[row])];
      if (likely[row] >= 0) found = found == unknown || found == likely[row] ? likely[row] : several;
    }
    for (const std::uint32_t row : members)
      if (likely[row] < 0) likely[row] = std::max(unknown, of_quantity[static_cast<std::size_t>(table.quantity[row])]);
  }
  return likely;
}

void Rows::group() {
  std::vector<std::uint64_t> keys(size());
  const auto build = [&keys](auto&& key) {
    for (std::size_t row = 0; row < keys.size(); ++row) keys[row] = key(row);
    return Grouping(keys);
  };
  const auto quantity = [this](std::size_t row) { return static_cast<std::int32_t>(table.quantity[row]); };
  kind = build([&](std::size_t row) { return is_check[row] ? no_key : key_of(kind_code_[row], quantity(row)); });
  history = build([&](std::size_t row) { return key_of(kind.of(row), code(TextName::object_id, row)); });
  const Grouping part =
      build([&](std::size_t row) { return is_check[row] ? no_key : key_of(code(TextName::part, row), quantity(row)); });
  point = build([&](std::size_t row) { return key_of(part.of(row), code(TextName::object_id, row)); });
  const std::int32_t named_jobs = static_cast<std::int32_t>(table.column(TextName::job_id).words().size());
  const Grouping visit =
      build([&](std::size_t row) { return key_of(day_code(day[row]), code(TextName::object_id, row)); });
  job = build([&](std::size_t row) {
    const std::int32_t named = code(TextName::job_id, row);
    return named >= 0 ? key_of(0, named) : visit.of(row) >= 0 ? key_of(0, named_jobs + visit.of(row)) : no_key;
  });
  meter_day = build([&](std::size_t row) { return key_of(code(TextName::instrument_id, row), day_code(day[row])); });
  const std::vector<std::int32_t> likely = likely_instruments();
  const Grouping likely_meter_day = build([&](std::size_t row) { return key_of(likely[row], day_code(day[row])); });
  const auto people = static_cast<std::int32_t>(table.column(TextName::taken_by).words().size());
  session = build([&](std::size_t row) {
    if (is_check[row]) return no_key;
    const std::int32_t person = code(TextName::taken_by, row);
    return key_of(likely_meter_day.of(row), person >= 0 ? person : job.of(row) >= 0 ? people + job.of(row) : -1);
  });
}

}  // namespace ohmward::screening
