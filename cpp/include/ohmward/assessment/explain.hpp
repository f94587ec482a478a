#pragma once

#include <string>
#include <vector>

#include "ohmward/assessment/assess.hpp"

namespace ohmward::assessment {

/// One step of an explanation, such as {"limit", "at least 1 MΩ, maker, edition 3"}.
struct ExplanationStep {
  std::string step;
  std::string text;
};

/// How the verdict of one row (or of what follows from several) came about: as read, value with interval, correction,
/// limit, verdict, findings, what next.
[[nodiscard]] std::vector<ExplanationStep> explain(const readings::Table& table, std::size_t row,
                                                   const Context& context, const Screened& screened = {});

/// A value for people: SI prefix, rounded by its uncertainty, with unit; "> " or "< " before a bound.
[[nodiscard]] std::string shown(const uncertainty::Quantity& quantity, QuantityKind kind);

/// The interval value ± k·u (k = 2) for people: "2.0 … 2.6 GΩ"; empty without an uncertainty.
[[nodiscard]] std::string shown_interval(const uncertainty::Quantity& quantity, QuantityKind kind);

/// A bare value for people at three significant digits: "1.48 MΩ".
[[nodiscard]] std::string shown(double value, QuantityKind kind);

}  // namespace ohmward::assessment
