#include "c/hosted/law.hpp"

namespace ohmward::c {

temperature::Law from_c(const owd_law& c) {
  const temperature::FittedRange fitted{.low_celsius = c.fitted_low_celsius, .high_celsius = c.fitted_high_celsius};
  switch (c.kind) {
    case OWD_LAW_NONE: return {};
    case OWD_LAW_HALVING:
      return temperature::law(temperature::Halving{.step_kelvin = c.constant,
                                                   .step_standard_uncertainty_kelvin = c.constant_standard_uncertainty,
                                                   .fitted = fitted});
    case OWD_LAW_THERMOSETTING:
      return temperature::law(
          temperature::Thermosetting{.relative_standard_uncertainty = c.constant_standard_uncertainty});
    case OWD_LAW_ARRHENIUS:
      return temperature::law(
          temperature::Arrhenius{.activation_energy_electronvolt = c.constant,
                                 .activation_energy_standard_uncertainty_electronvolt = c.constant_standard_uncertainty,
                                 .fitted = fitted});
    case OWD_LAW_CONDUCTOR:
      return temperature::law(temperature::Conductor{.tau_kelvin = c.constant,
                                                     .tau_standard_uncertainty_kelvin = c.constant_standard_uncertainty,
                                                     .fitted = fitted});
    default: throw InvalidParameter("kind", static_cast<double>(c.kind), "one of OWD_LAW_...");
  }
}

}  // namespace ohmward::c
