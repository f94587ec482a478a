#pragma once

#include <cstdint>

#include "numerics/level_tables.hpp"
#include "ohmward/formula/temperature.hpp"

namespace ohmward::formula {

/// The fused loop of one law; inputs: resistance, temperature and their standard uncertainties.
template <class Law>
using CorrectionLoop = void (*)(std::size_t size, const double* const* inputs, const Law& law, double* value,
                                double* relative_standard_uncertainty, std::int8_t* status) noexcept;

struct Corrections {
  CorrectionLoop<Halving> halving;
  CorrectionLoop<Thermosetting> thermosetting;
  CorrectionLoop<Arrhenius> arrhenius;
  CorrectionLoop<Conductor> conductor;
};

numerics::LevelTable formulas_baseline() noexcept;
numerics::LevelTable formulas_x86_64_v3() noexcept;
numerics::LevelTable formulas_x86_64_v4() noexcept;
const Corrections& corrections_baseline() noexcept;
const Corrections& corrections_x86_64_v3() noexcept;
const Corrections& corrections_x86_64_v4() noexcept;

}  // namespace ohmward::formula
