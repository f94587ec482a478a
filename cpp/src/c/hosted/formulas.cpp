#include <cmath>
#include <span>

#include "c/hosted/law.hpp"
#include "ohmward/core/constants.hpp"
#include "ohmward/formula/batch.hpp"
#include "ohmward/formula/insulation.hpp"

namespace ohmward::c {
namespace {

struct Columns {
  std::size_t size;
  const double* resistance_ohm;
  const double* celsius;
  double* out_ohm;
  owd_status* status;
};

template <class Law>
void correct(const Columns& c, const Law& law, int threads) {
  const std::size_t told = c.status != nullptr ? c.size : 0;
  formula::to_reference({c.resistance_ohm, c.size}, {c.celsius, c.size}, law, {c.out_ohm, c.size},
                        {reinterpret_cast<Status*>(c.status), told}, {.threads = threads});
}

void correct(const Columns& c, const temperature::Law& law, double reference_celsius, int threads) {
  switch (law.kind) {
    case temperature::LawKind::halving:
      return correct(c,
                     formula::Halving{.step_kelvin = law.constant,
                                      .reference_celsius = reference_celsius,
                                      .low_celsius = law.fitted_low_celsius,
                                      .high_celsius = law.fitted_high_celsius},
                     threads);
    case temperature::LawKind::thermosetting: {
      formula::Thermosetting of = formula::thermosetting_ieee_43;
      of.reference_celsius = reference_celsius;
      return correct(c, of, threads);
    }
    case temperature::LawKind::arrhenius:
      return correct(c,
                     formula::Arrhenius{.activation_energy_electronvolt = law.constant,
                                        .reference_celsius = reference_celsius,
                                        .low_celsius = law.fitted_low_celsius,
                                        .high_celsius = law.fitted_high_celsius},
                     threads);
    case temperature::LawKind::conductor:
      return correct(c,
                     formula::Conductor{.tau_kelvin = law.constant,
                                        .reference_celsius = reference_celsius,
                                        .low_celsius = law.fitted_low_celsius,
                                        .high_celsius = law.fitted_high_celsius},
                     threads);
    case temperature::LawKind::none:
    case temperature::LawKind::table: break;
  }
  for (std::size_t i = 0; i < c.size; ++i) {
    c.out_ohm[i] = nan;
    if (c.status != nullptr) c.status[i] = static_cast<owd_status>(Status::no_law);
  }
}

void above_zero(const char* field, double value) {
  if (!(value > 0) || !std::isfinite(value)) throw InvalidParameter(field, value, "a finite number above 0");
}

/// Writes value and status of each element; `at(i)` gives both.
template <class At>
void each(std::size_t size, double* out, owd_status* status, const At& at) noexcept {
  for (std::size_t i = 0; i < size; ++i) {
    const Checked<double> found = at(i);
    out[i] = found.value;
    if (status != nullptr) status[i] = static_cast<owd_status>(found.status);
  }
}

}  // namespace
}  // namespace ohmward::c

using namespace ohmward::c;

owd_error owd_to_reference(size_t size, const double* resistance_ohm, const double* celsius, const owd_law* law,
                           double reference_celsius, int32_t threads, double* out_ohm, owd_status* status) {
  return guarded([=] {
    if (const owd_error error = readable(law, "law"); error != OWD_OK) return error;
    if (const owd_error error = there(size, resistance_ohm, celsius, out_ohm); error != OWD_OK) return error;
    if (!(reference_celsius > -ohmward::celsius_zero_kelvin) || !std::isfinite(reference_celsius))
      throw ohmward::InvalidParameter("reference_celsius", reference_celsius, "above absolute zero");
    if (threads < 0) throw ohmward::InvalidParameter("threads", threads, "at least 0");
    correct({size, resistance_ohm, celsius, out_ohm, status}, from_c(*law), reference_celsius, threads);
    return owd_error{OWD_OK};
  });
}

owd_error owd_resistance_ratio(size_t size, const double* late_ohm, const double* early_ohm, double* out,
                               owd_status* status) {
  return guarded([=] {
    if (const owd_error error = there(size, late_ohm, early_ohm, out); error != OWD_OK) return error;
    each(size, out, status, [=](std::size_t i) {
      return ohmward::formula::resistance_ratio({.late_ohm = late_ohm[i], .early_ohm = early_ohm[i]});
    });
    return owd_error{OWD_OK};
  });
}

owd_error owd_attainable_ratio(size_t size, const double* early_ohm, const double* capacitance_farad,
                               const owd_attainable* of, double* out, owd_status* status) {
  return guarded([=] {
    if (of == nullptr) return failed(OWD_ERROR_NULL, "of");
    if (const owd_error error = there(size, early_ohm, capacitance_farad, out); error != OWD_OK) return error;
    above_zero("early_second", of->early_second);
    above_zero("late_second", of->late_second);
    if (!(of->late_second > of->early_second))
      throw ohmward::InvalidParameter("late_second", of->late_second, "above early_second");
    above_zero("loss_factor", of->loss_factor);
    above_zero("absorption_exponent", of->absorption_exponent);
    each(size, out, status, [=](std::size_t i) {
      return ohmward::formula::attainable_ratio({.early_ohm = early_ohm[i],
                                                 .capacitance_farad = capacitance_farad[i],
                                                 .early_second = of->early_second,
                                                 .late_second = of->late_second,
                                                 .loss_factor = of->loss_factor,
                                                 .absorption_exponent = of->absorption_exponent});
    });
    return owd_error{OWD_OK};
  });
}
