#include "c/hosted/law.hpp"

namespace ohmward::c {

temperature::Law from_c(const owd_law& given) {
  const temperature::FittedRange fitted{.low_celsius = given.fitted_low_celsius,
                                        .high_celsius = given.fitted_high_celsius};
  switch (given.kind) {
    case OWD_LAW_NONE: return {};
    case OWD_LAW_HALVING:
      return temperature::law(
          temperature::Halving{.step_kelvin = given.constant,
                               .step_standard_uncertainty_kelvin = given.constant_standard_uncertainty,
                               .fitted = fitted});
    case OWD_LAW_THERMOSETTING:
      return temperature::law(
          temperature::Thermosetting{.relative_standard_uncertainty = given.constant_standard_uncertainty});
    case OWD_LAW_ARRHENIUS:
      return temperature::law(temperature::Arrhenius{
          .activation_energy_electronvolt = given.constant,
          .activation_energy_standard_uncertainty_electronvolt = given.constant_standard_uncertainty,
          .fitted = fitted});
    case OWD_LAW_CONDUCTOR:
      return temperature::law(
          temperature::Conductor{.tau_kelvin = given.constant,
                                 .tau_standard_uncertainty_kelvin = given.constant_standard_uncertainty,
                                 .fitted = fitted});
    default: throw InvalidParameter("kind", static_cast<double>(given.kind), "one of OWD_LAW_...");
  }
}

}  // namespace ohmward::c
