#pragma once

#include <cstdint>
#include <span>
#include <string_view>
#include <vector>

#include "ohmward/uncertainty/quantity.hpp"

namespace ohmward::highvoltage {

/// A closed interval; an open end is 0 or infinite.
struct Interval {
  double low = nan;
  double high = nan;
};

/// Leak of a part that was unplugged between two readings of the whole.
struct Leak {
  double ohm = nan;     ///< 1/(1/before - 1/after); the lower end of what is possible where only bounds are known
  Interval interval{};  ///< at the level asked for
  double share = nan;   ///< of the leakage before: 1 - before/after; a common gain cancels
  Interval share_interval{};
  double probability_of_leak =
      nan;  ///< that there is a leak at all, given the readings; NaN where only bounds are known
  Status status = Status::missing_input;
};

/// Leak of a removed part with its interval.
///
/// The interval is that of exp(c)/(exp(-a)/before - exp(-b)/after) with normal a, b (the independent parts of the two
/// readings on the log scale) and c (the smaller of the two gain parts, common to both; the rest of a gain part counts
/// as independent), found by quadrature of its distribution: never first order, so that it stays right where the two
/// readings lie within their uncertainties of each other. Where even "no leak" lies inside, `high` is infinite.
///
/// Censored readings enter as the interval that they leave open: "above" in `after` means a leak between `before` and
/// 1/(1/before - 1/bound).
///
/// Status: sound; bound_only: a reading was a bound; contradiction: the reading did not rise, so not this part or
/// something changed, `interval.low` tells how large a leak it could still have; missing_input, out_of_domain.
/// Accuracy: ends within 1e-6 relative (tests Leak.*). Source: `computed-leak`.
/// @param level  of the interval, 0 < level < 1
[[nodiscard]] Leak leak_of_removed_part(const uncertainty::Quantity& before, const uncertainty::Quantity& after,
                                        double level = 0.95) noexcept;

/// A reading together with a path that hung in parallel to it, such as an isolation monitor left on.
struct ReadingWithPath {
  uncertainty::Quantity reading{};  ///< log scale
  uncertainty::Quantity path{};     ///< log scale: what is stated of the path, with its uncertainty
  bool declared = false;            ///< written down with the reading; on suspicion alone nothing is taken off
};

struct WithoutPath {
  uncertainty::Quantity resistance{};  ///< log scale, parts reading, gain, other (that of the path)
  Interval interval{};                 ///< at the level asked for, as that of a leak
};

/// The reading freed of a declared path: 1/(1/reading - 1/path). Near the path's own resistance the difference is
/// steep; where the standard uncertainty exceeds 0.2 the value becomes the lower end of the interval, a bound.
///
/// Status: sound; bound_only: the reading was a bound, or the value is; missing_input: not declared; contradiction: the
/// reading does not lie below the path, so that was not connected or is not what is stated; unknown_bound: the path is
/// no number, or the reading is over range without a ceiling. A path without uncertainty, or of none, leaves an unknown
/// one, which can not pass. Source: `insulation-monitor` for what is usual, `computed-leak`.
[[nodiscard]] WithoutPath without_declared_path(const ReadingWithPath& readings, double level = 0.95) noexcept;

/// The unplug ladder: readings of the whole after each part was unplugged, the first with all parts in.
struct Ladder {
  std::vector<Leak> leaks;             ///< one a removed part
  std::vector<double> share_of_whole;  ///< part's leak as a fraction of the leakage before anything was unplugged
  std::ptrdiff_t largest = -1;         ///< part that carries most of it; -1: none has a value
  double remaining_share = nan;        ///< still there after the last part
};
[[nodiscard]] Ladder ladder(std::span<const uncertainty::Quantity> readings, double level = 0.95);

/// Do the parts explain the whole? Numbers never change meaning.
enum class Explained : std::int8_t {
  yes = 0,              ///< zero lies inside the interval of the leakage that no part explains
  whole_is_lower = 1,   ///< a path that was not measured
  whole_is_higher = 2,  ///< not everything was connected
  undecided = 3,        ///< no value, or an uncertainty is unknown
};

[[nodiscard]] std::string_view text(Explained explained) noexcept;

struct PartsAndWhole {
  Explained explained = Explained::undecided;
  double parts_ohm = nan;          ///< parts in parallel; over-range parts at their bound
  double unexplained_ohm = nan;    ///< 1/(1/whole - sum 1/part), where the whole is lower
  Interval unexplained_siemens{};  ///< interval of 1/whole - sum 1/part
  Status status = Status::missing_input;
};

/// Compares 1/whole with the sum of 1/part by Monte Carlo: 20 000 draws by counter of every independent part, one
/// common draw for the gain that all readings share. An over-range part lies between no leak and its bound.
/// Status: sound; bound_only: a reading was a bound; missing_input; out_of_domain. Source: `computed-leak`.
[[nodiscard]] PartsAndWhole parts_explain_whole(std::span<const uncertainty::Quantity> parts,
                                                const uncertainty::Quantity& whole, double level = 0.95,
                                                std::uint64_t seed = 1);

/// Parts in parallel, such as the budget of a vehicle: log scale, gain fully common, the rest independent.
/// Over-range parts count at their bound and make the result a bound.
[[nodiscard]] uncertainty::Quantity parallel_budget(std::span<const uncertainty::Quantity> parts) noexcept;

/// After over before (drying, cleaning): log scale, the common gain cancels. A censored reading gives a bound.
/// Status: sound, bound_only, unknown_bound where nothing follows, missing_input.
[[nodiscard]] uncertainty::Quantity ratio_after_before(const uncertainty::Quantity& before,
                                                       const uncertainty::Quantity& after) noexcept;

}  // namespace ohmward::highvoltage
