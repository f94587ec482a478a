#include "ohmward/assessment/part_kinds.hpp"

#include <cmath>

#include "ohmward/core/errors.hpp"

namespace ohmward::assessment {

PartKinds::PartKinds(std::vector<PartKind> kinds) {
  for (PartKind& kind : kinds) {
    if (kind.id.empty()) throw InvalidParameter("part_kind.id", "empty", "a name");
    const std::string where = "part_kind " + kind.id;
    const auto absent_or_above_zero = [&](double value, const char* field) {
      if (!std::isnan(value) && !(value > 0 && std::isfinite(value)))
        throw InvalidParameter(where + "." + field, value, "above 0, or absent");
    };
    absent_or_above_zero(kind.capacitance_low_farad, "capacitance_low_farad");
    absent_or_above_zero(kind.capacitance_high_farad, "capacitance_high_farad");
    absent_or_above_zero(kind.allowed_test_voltage_volt, "allowed_test_voltage_volt");
    if (kind.capacitance_low_farad > kind.capacitance_high_farad)
      throw InvalidParameter(where + ".capacitance_high_farad", kind.capacitance_high_farad,
                             "at least capacitance_low_farad");
    std::string id = kind.id;
    kinds_.insert_or_assign(std::move(id), std::move(kind));
  }
}

const PartKind* PartKinds::find(std::string_view id) const noexcept {
  const auto entry
  = kinds_.find(id);
  return entry
  == kinds_.end() ? nullptr : &entry
  ->second;
}

}  // namespace ohmward::assessment
