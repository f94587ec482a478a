#pragma once

#include <cstdint>
#include <functional>
#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "ohmward/core/floating_point.hpp"
#include "ohmward/temperature/law.hpp"

namespace ohmward::assessment {

/// What holds for every part of a kind.
struct PartKind {
  std::string id{};
  temperature::Law law{};              ///< how its insulation follows temperature; `none` for networks of resistors
  double capacitance_low_farad = nan;  ///< usual range to housing
  double capacitance_high_farad = nan;
  double allowed_test_voltage_volt = nan;
  bool network = false;  ///< dividers and bleeders lie in parallel: it reads like a resistor
  bool whole = false;    ///< the whole vehicle, or one side of its contactors: isolation per volt applies
  std::string source{};
};

class PartKinds {
 public:
  PartKinds() = default;
  /// A later entry of one id replaces an earlier one. @throws InvalidParameter naming kind, field and value.
  explicit PartKinds(std::vector<PartKind> kinds);
  /// nullptr where the kind is not known.
  [[nodiscard]] const PartKind* find(std::string_view id) const noexcept;
  [[nodiscard]] std::size_t size() const noexcept { return kinds_.size(); }

 private:
  std::map<std::string, PartKind, std::less<>> kinds_;
};

}  // namespace ohmward::assessment
