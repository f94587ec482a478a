#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "ohmward/statistics/roc.hpp"

namespace ohmward::thresholds {

/// Units with a score, also those of unknown outcome; labels as numbers.
struct StudyUnits {
  std::vector<double> low{}, high{};
  std::vector<std::uint8_t> event{};
  std::vector<double> weight{};        ///< always filled
  std::vector<std::size_t> cluster{};  ///< always filled; each unit its own where none were given
  std::size_t clusters = 0;
  std::vector<std::size_t> stratum{};  ///< of the weights; empty where they are known
  std::size_t strata = 0;
  std::size_t left_out = 0;
  bool weighted = false;
  bool clustered = false;

  [[nodiscard]] std::size_t size() const noexcept { return low.size(); }
  [[nodiscard]] bool surely_above(std::size_t i, double threshold) const noexcept { return low[i] > threshold; }
  [[nodiscard]] bool maybe_above(std::size_t i, double threshold) const noexcept { return high[i] > threshold; }
};

/// @throws InvalidParameter for what statistics::ScoredUnits refuses
[[nodiscard]] StudyUnits study_units(const statistics::ScoredUnits& units);

/// Distinct thresholds from +infinity down to -infinity, one in the middle between each two neighbouring ends of
/// scores: all that can be told apart.
[[nodiscard]] std::vector<double> candidate_thresholds(const StudyUnits& units);

}  // namespace ohmward::thresholds
