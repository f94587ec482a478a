#include "assessment/contact.hpp"

#include <cmath>

namespace ohmward::assessment {
namespace {

using readings::NumberName;
using readings::TextName;

/// A capacitance counts when it is at least this share of the least usual one of the part's kind: open leads have some
/// picofarads of their own, a part in the circuit has its own at least roughly. Trade judgement, a setting.
constexpr double share_of_usual_capacitance = 0.2;
/// Without a known kind: above what leads alone have. Trade judgement.
constexpr double lead_capacitance_farad = 0.5e-9;

bool agrees(double value, double reference, const uncertainty::Quantity& quantity) noexcept {
  constexpr double coverage_factor = 2;
  const double u = quantity.standard_uncertainty();
  return std::abs(std::log(value / reference)) <= coverage_factor * u;
}

}  // namespace

ContactEvidence::ContactEvidence(const readings::Table& table, const Context& context) : table_(table) {
  const std::int32_t check = table.column(TextName::stage).code_of("meter_check");
  const std::int32_t resistor = table.column(TextName::part).code_of("check_resistor");
  if (check == readings::TextColumn::missing || resistor == readings::TextColumn::missing) return;
  for (std::size_t row = 0; row < table.rows(); ++row) {
    if (table.column(TextName::stage).code(row) != check || table.column(TextName::part).code(row) != resistor)
      continue;
    if (table.quantity[row] != QuantityKind::insulation_resistance || table.censoring[row] != Censoring::exact)
      continue;
    const double reference = table.at(NumberName::reference_value, row);
    const std::int32_t instrument = instrument_of(table, row, context);
    if (instrument == instruments::Instruments::none) continue;
    const instruments::Measured measured = measure(table, row, instrument, context);
    if (agrees(measured.quantity.value, reference, measured.quantity)) proven_.insert(session(row));
  }
}

ContactEvidence::Session ContactEvidence::session(std::size_t row) const noexcept {
  return {table_.column(TextName::instrument_id).code(row), day_of(table_, row)};
}

bool ContactEvidence::shown(std::size_t row, const PartKind* kind) const {
  const double capacitance = table_.at(NumberName::capacitance_farad, row);
  const double least = kind != nullptr && kind->capacitance_low_farad > 0
                           ? share_of_usual_capacitance * kind->capacitance_low_farad
                           : lead_capacitance_farad;
  if (capacitance >= least) return true;
  if (!std::isnan(capacitance)) return false;  // the tester saw open leads
  const Session here = session(row);
  return here.first != readings::TextColumn::missing && proven_.contains(here);
}

}  // namespace ohmward::assessment
