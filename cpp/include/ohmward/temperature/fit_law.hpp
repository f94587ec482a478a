#pragma once

#include <span>

#include "ohmward/temperature/law.hpp"
#include "ohmward/uncertainty/quantity.hpp"

namespace ohmward::temperature {

/// A resistance and the temperature of the part when it was read.
struct ReadingAt {
  uncertainty::Quantity resistance;  ///< log scale
  double celsius = nan;
  double standard_uncertainty_kelvin = nan;  ///< NaN: 2 K
};

/// Why a law came out as it did. Numbers never change meaning.
enum class FitReason : std::int8_t {
  fitted = 0,
  too_few_readings = 1,   ///< fewer than two exact readings at different temperatures
  span_too_small = 2,     ///< the temperatures lie within the least span
  does_not_fall = 3,      ///< the resistance does not fall with warming by more than its uncertainty
  scatters_too_much = 4,  ///< the readings lie off every such law by more than their uncertainties
};

struct LawFit {
  Law law{};  ///< kind none where no law holds
  Status status = Status::no_law;
  FitReason reason = FitReason::too_few_readings;
  double chi_squared = nan;
  double degrees_of_freedom = nan;
  double ln_at_reference = nan;    ///< ln R of the fitted line at reference_celsius
  double reference_celsius = nan;  ///< mean temperature of the readings
};

struct FitOptions {
  LawKind kind = LawKind::halving;  ///< halving or arrhenius
  double least_span_kelvin = 10;    ///< a setting without a source
  double level = 0.99;              ///< of the test whether the readings scatter too much
};

/// Step or activation energy from a person's own readings of one part, with its standard uncertainty and fitted range;
/// "no law holds" is an answer. Weighted by the readings' and the temperatures' uncertainties (joined by the slope);
/// bounds take part as bounds. The common gain moves all readings alike and does not enter.
/// Status: sound; few_points (two readings: the scatter can not be judged); no_law with the reason.
/// @throws InvalidParameter for a kind that has no constant to fit
[[nodiscard]] LawFit fit_law(std::span<const ReadingAt> readings, const FitOptions& options = {});

}  // namespace ohmward::temperature
