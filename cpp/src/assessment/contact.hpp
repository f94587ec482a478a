#pragma once

#include <cstdint>
#include <set>
#include <utility>

#include "assessment/measure.hpp"

namespace ohmward::assessment {

/// What shows that an over-range insulation reading was one of the part and not of open leads: a capacitance shown by
/// the tester, or a known resistor read with the same meter on the same day.
class ContactEvidence {
 public:
  ContactEvidence(const readings::Table& table, const Context& context);

  /// @param kind  kind of the part, nullptr where it is not known
  [[nodiscard]] bool shown(std::size_t row, const PartKind* kind) const;

 private:
  using Session = std::pair<std::int32_t, std::int64_t>;  ///< code of the instrument, day
  [[nodiscard]] Session session(std::size_t row) const noexcept;

  const readings::Table& table_;
  std::set<Session> proven_;
};

}  // namespace ohmward::assessment
