#include <pybind11/native_enum.h>
#include <pybind11/pybind11.h>

#include <array>
#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "arrays.hpp"
#include "ohmward/core/errors.hpp"
#include "ohmward/logging/absorption_log.hpp"
#include "ohmward/logging/accuracy_sheet.hpp"
#include "ohmward/logging/bonding_log.hpp"
#include "ohmward/logging/link_discharge_log.hpp"
#include "ohmward/logging/resting_voltage_log.hpp"
#include "ohmward/logging/running_mean.hpp"

namespace ohmward::python {

using namespace logging;

void bind_logging(py::module_& module);

namespace {

void refuse(const Fault& fault) {
  if (fault) throw InvalidParameter(fault.field, fault.given, fault.expected);
}

template <class Log, class Config>
Log made(const Config& config, std::uint32_t start_tick) {
  Log log;
  refuse(log.init(config, start_tick));
  return log;
}

/// Columns of samples of one length.
struct SampleColumns {
  Array<double> second;
  Array<std::uint32_t> tick;
  Array<double> first, second_value, third;
  Array<std::uint8_t> flags;

  [[nodiscard]] std::size_t size() const {
    const auto n = second.size();
    if (tick.size() != n || first.size() != n || second_value.size() != n || third.size() != n || flags.size() != n)
      throw py::value_error("the columns have different lengths");
    return static_cast<std::size_t>(n);
  }
};

template <class Push>
Array<std::int8_t> statuses(std::size_t size, const Push& push) {
  Array<std::int8_t> out = new_array<std::int8_t>(size);
  auto values = mutable_view(out);
  for (std::size_t i = 0; i < size; ++i) values[i] = static_cast<std::int8_t>(push(i));
  return out;
}

py::dict counts_of(const Counts& c) {
  constexpr const char* names[] = {"samples",      "taken",      "missing",       "impossible", "doubled",
                                   "out_of_order", "over_range", "after_gap",     "sagging",    "slips",
                                   "jumps",        "in_noise",   "range_changes", "tick_wraps", "refused"};
  py::dict out;
  std::size_t i = 0;
  const auto each = [&](auto... count) { ((out[names[i++]] = count), ...); };
  Counts::each_field(c, each);
  return out;
}

/// What every log can: counts, reset, record.
template <class Log, class... Options>
void bind_life(py::class_<Log, Options...>& bound) {
  bound.def_property_readonly("counts", [](const Log& log) { return counts_of(log.counts()); })
      .def_property_readonly("cut", &Log::cut)
      .def("save",
           [](const Log& log) {
             std::array<std::uint8_t, greatest_record> record{};
             const std::size_t size = log.save(record.data(), record.size());
             return py::bytes(reinterpret_cast<const char*>(record.data()), size);
           })
      .def_static(
          "resume",
          [](const py::bytes& bytes, bool cut) {
            const std::string record = bytes;
            Log log;
            const Status status = log.resume(reinterpret_cast<const std::uint8_t*>(record.data()), record.size(),
                                             cut ? Resume::cut : Resume::continued);
            return py::make_tuple(log, status);
          },
          py::arg("record"), py::kw_only(), py::arg("cut"));
}

TimeBase base_of(bool ticks) { return ticks ? TimeBase::tick_millisecond : TimeBase::second; }

py::dict forecast_dict(const formula::Forecast& f) {
  py::dict out;
  out["value"] = f.value;
  out["low"] = f.low;
  out["high"] = f.high;
  out["status"] = f.status;
  out["noise"] = f.noise;
  out["kernel_width"] = f.kernel_width;
  out["least_distance"] = f.least_distance;
  out["steepening"] = f.steepening;
  py::list mechanism;
  for (const double share : f.mechanism) mechanism.append(share);
  out["mechanism"] = mechanism;
  return out;
}

void bind_absorption(py::module_& module) {
  py::class_<AbsorptionLog> bound(module, "AbsorptionLog");
  bound
      .def(py::init([](double volt, double early, double late, double source, double u, double gain, double farad,
                       double visible, double loss, double drift, double per_kelvin, bool ticks, bool forecast,
                       std::uint32_t start_tick) {
             return made<AbsorptionLog>(AbsorptionConfig{.test_voltage_volt = volt,
                                                         .early_second = early,
                                                         .late_second = late,
                                                         .source_ampere = source,
                                                         .relative_standard_uncertainty = u,
                                                         .gain_relative_standard_uncertainty = gain,
                                                         .capacitance_farad = farad,
                                                         .least_visible_change = visible,
                                                         .loss_factor = loss,
                                                         .drift_kelvin = drift,
                                                         .current_per_kelvin = per_kelvin,
                                                         .time_base = base_of(ticks),
                                                         .forecast = forecast},
                                        start_tick);
           }),
           py::kw_only(), py::arg("test_voltage_volt"), py::arg("early_second"), py::arg("late_second"),
           py::arg("source_ampere"), py::arg("relative_standard_uncertainty"),
           py::arg("gain_relative_standard_uncertainty"), py::arg("capacitance_farad"), py::arg("least_visible_change"),
           py::arg("loss_factor"), py::arg("drift_kelvin"), py::arg("current_per_kelvin"), py::arg("ticks"),
           py::arg("forecast"), py::arg("start_tick"))
      .def(
          "push",
          [](AbsorptionLog& log, const Array<double>& second, const Array<std::uint32_t>& tick,
             const Array<double>& volt, const Array<double>& ampere, const Array<double>& ohm,
             const Array<std::uint8_t>& flags) {
            const SampleColumns c{second, tick, volt, ampere, ohm, flags};
            return statuses(c.size(), [&](std::size_t i) {
              return log.push(
                  {view(second)[i], view(tick)[i], view(volt)[i], view(ampere)[i], view(ohm)[i], view(flags)[i]});
            });
          },
          py::arg("time_second").noconvert(), py::arg("tick_millisecond").noconvert(),
          py::arg("applied_volt").noconvert(), py::arg("current_ampere").noconvert(),
          py::arg("resistance_ohm").noconvert(), py::arg("flags").noconvert())
      .def(
          "reset", [](AbsorptionLog& log, std::uint32_t start_tick) { log.reset(start_tick); }, py::kw_only(),
          py::arg("start_tick"))
      .def("ratio",
           [](const AbsorptionLog& log) {
             const RunRatio r = log.ratio();
             return py::make_tuple(r.value, r.relative_standard_uncertainty, r.censoring, r.status);
           })
      .def("spots",
           [](const AbsorptionLog& log) {
             py::list out;
             for (const RunSpot& s : {log.early(), log.late(), log.latest()})
               out.append(py::make_tuple(s.value, s.censoring, s.status));
             return py::tuple(out);
           })
      .def("settling",
           [](const AbsorptionLog& log) {
             const formula::SettlingState s = log.settling();
             return py::make_tuple(static_cast<int>(s.state), s.status, s.slope, s.slope_standard_uncertainty,
                                   s.charging_until_second, s.absorption_until_second, s.may_stop_second);
           })
      .def(
          "forecast",
          [](const AbsorptionLog& log, double level) {
            const auto memory = std::make_unique<ForecastMemory>();
            const auto library = std::make_unique<ForecastLibrary>();
            const py::gil_scoped_release unlocked;
            log.begin_library(*library, *memory);
            static_cast<void>(library->fill(memory->grid, log.forecast_target(), ForecastLibrary::curves));
            const formula::Forecast f = log.forecast(level, *memory, library.get());
            const py::gil_scoped_acquire locked;
            return forecast_dict(f);
          },
          py::arg("level"))
      .def("charging",
           [](const AbsorptionLog& log) {
             const formula::ChargingState s = log.charging();
             return py::make_tuple(s.capacitance_farad, s.low_farad, s.high_farad, s.reached_second, s.status);
           })
      .def("contact", [](const AbsorptionLog& log) { return static_cast<int>(log.contact()); });
  bind_life(bound);
}

void bind_voltages(py::module_& module) {
  py::class_<RestingVoltageLog> resting(module, "RestingVoltageLog");
  resting
      .def(py::init([](std::uint32_t cells, double u, double tolerance, bool ticks, std::uint32_t start_tick) {
             return made<RestingVoltageLog>(RestingVoltageConfig{.cells = cells,
                                                                 .standard_uncertainty_volt = u,
                                                                 .tolerance_cell_volt = tolerance,
                                                                 .time_base = base_of(ticks)},
                                            start_tick);
           }),
           py::kw_only(), py::arg("cells"), py::arg("standard_uncertainty_volt"), py::arg("tolerance_cell_volt"),
           py::arg("ticks"), py::arg("start_tick"))
      .def("state", [](const RestingVoltageLog& log) {
        const formula::RestingState s = log.state();
        return py::make_tuple(static_cast<int>(s.state), s.status, s.voltage_volt, s.standard_uncertainty_volt,
                              s.slope_volt_per_hour, s.slope_standard_uncertainty_volt_per_hour, s.change_volt,
                              s.rest_second);
      });
  py::class_<LinkDischargeLog> link(module, "LinkDischargeLog");
  link.def(py::init([](double u, double threshold, double gain, double coverage, bool ticks, std::uint32_t start_tick) {
             return made<LinkDischargeLog>(LinkDischargeConfig{.standard_uncertainty_volt = u,
                                                               .threshold_volt = threshold,
                                                               .gain_relative_standard_uncertainty = gain,
                                                               .coverage_factor = coverage,
                                                               .time_base = base_of(ticks)},
                                           start_tick);
           }),
           py::kw_only(), py::arg("standard_uncertainty_volt"), py::arg("threshold_volt"),
           py::arg("gain_relative_standard_uncertainty"), py::arg("coverage_factor"), py::arg("ticks"),
           py::arg("start_tick"))
      .def("state", [](const LinkDischargeLog& log) {
        const formula::DecayState s = log.state();
        return py::make_tuple(s.initial_volt, s.time_constant_second, s.time_constant_standard_uncertainty_second,
                              s.threshold_second, s.threshold_low_second, s.threshold_high_second, s.chi_square,
                              s.degrees_of_freedom, s.remarks, s.status);
      });
  const auto bind_push = []<class Log>(py::class_<Log>& bound) {
    bound
        .def(
            "push",
            [](Log& log, const Array<double>& second, const Array<std::uint32_t>& tick, const Array<double>& volt,
               const Array<std::uint8_t>& flags) {
              const SampleColumns c{second, tick, volt, volt, volt, flags};
              return statuses(c.size(), [&](std::size_t i) {
                return log.push({view(second)[i], view(tick)[i], view(volt)[i], view(flags)[i]});
              });
            },
            py::arg("time_second").noconvert(), py::arg("tick_millisecond").noconvert(),
            py::arg("voltage_volt").noconvert(), py::arg("flags").noconvert())
        .def(
            "reset", [](Log& log, std::uint32_t start_tick) { log.reset(start_tick); }, py::kw_only(),
            py::arg("start_tick"));
  };
  bind_push(resting);
  bind_push(link);
  bind_life(resting);
  bind_life(link);
}

void bind_bonding(py::module_& module) {
  py::class_<BondingLog> bound(module, "BondingLog");
  bound
      .def(py::init([](double u, double null_u, double gain, double least_ampere, double null_low, double null_high,
                       double age, double polarity, bool ticks, bool four_wire, bool subtracted,
                       std::uint32_t start_tick) {
             return made<BondingLog>(BondingConfig{.standard_uncertainty_ohm = u,
                                                   .null_standard_uncertainty_ohm = null_u,
                                                   .gain_relative_standard_uncertainty = gain,
                                                   .settings = {.least_test_ampere = least_ampere,
                                                                .null_low_ohm = null_low,
                                                                .null_high_ohm = null_high,
                                                                .greatest_age_second = age,
                                                                .polarity_factor = polarity},
                                                   .time_base = base_of(ticks),
                                                   .four_wire = four_wire,
                                                   .null_subtracted = subtracted},
                                     start_tick);
           }),
           py::kw_only(), py::arg("standard_uncertainty_ohm"), py::arg("null_standard_uncertainty_ohm"),
           py::arg("gain_relative_standard_uncertainty"), py::arg("least_test_ampere"), py::arg("null_low_ohm"),
           py::arg("null_high_ohm"), py::arg("greatest_age_second"), py::arg("polarity_factor"), py::arg("ticks"),
           py::arg("four_wire"), py::arg("null_subtracted"), py::arg("start_tick"))
      .def(
          "push",
          [](BondingLog& log, const Array<double>& second, const Array<std::uint32_t>& tick, const Array<double>& ohm,
             const Array<double>& ampere, const Array<std::uint8_t>& flags, bool of_leads) {
            const SampleColumns c{second, tick, ohm, ampere, ohm, flags};
            return statuses(c.size(), [&](std::size_t i) {
              const JointSample s{view(second)[i], view(tick)[i], view(ohm)[i], view(ampere)[i], view(flags)[i]};
              return of_leads ? log.push_null(s) : log.push(s);
            });
          },
          py::arg("time_second").noconvert(), py::arg("tick_millisecond").noconvert(),
          py::arg("resistance_ohm").noconvert(), py::arg("test_ampere").noconvert(), py::arg("flags").noconvert(),
          py::kw_only(), py::arg("of_leads"))
      .def("next_joint", &BondingLog::next_joint)
      .def("forget_null", &BondingLog::forget_null)
      .def(
          "reset", [](BondingLog& log, std::uint32_t start_tick) { log.reset(start_tick); }, py::kw_only(),
          py::arg("start_tick"))
      .def("joint", [](const BondingLog& log) {
        const formula::JointState s = log.joint();
        return py::make_tuple(s.resistance_ohm, formula::joint_standard_uncertainty_ohm(s), s.censoring, s.status,
                              s.null_missing, s.current_too_low, s.remarks, log.reading().null.age_second);
      });
  bind_life(bound);
  py::list remarks;
#define OHMWARD_BONDING_REMARK_ENTRY(name, bit, text) remarks.append(py::make_tuple(#name, 1U << bit));
  OHMWARD_BONDING_REMARK_TABLE(OHMWARD_BONDING_REMARK_ENTRY)
#undef OHMWARD_BONDING_REMARK_ENTRY
  module.attr("bonding_remarks") = py::tuple(remarks);
}

void bind_mean(py::module_& module) {
  py::class_<RunningMean> bound(module, "RunningMean");
  bound
      .def(py::init([](double step) {
             RunningMean mean;
             refuse(mean.init({.display_step = step}));
             return mean;
           }),
           py::kw_only(), py::arg("display_step"))
      .def(
          "push",
          [](RunningMean& mean, const Array<double>& values) {
            const auto of = view(values);
            return statuses(of.size(), [&](std::size_t i) { return mean.push(of[i]); });
          },
          py::arg("values").noconvert())
      .def("merge", &RunningMean::merge, py::arg("other"))
      .def("reset", &RunningMean::reset)
      .def_property_readonly("readings", &RunningMean::readings)
      .def("state", [](const RunningMean& mean) {
        const numerics::MeanEstimate m = mean.state();
        return py::make_tuple(m.mean, m.standard_deviation, m.standard_uncertainty, m.degrees_of_freedom, m.status);
      });
  bind_life(bound);
}

}  // namespace

void bind_logging(py::module_& module) {
  py::native_enum<formula::Resting>(module, "Resting", "enum.IntEnum")
      .value("unknown", formula::Resting::unknown)
      .value("moving", formula::Resting::moving)
      .value("at_rest", formula::Resting::at_rest)
      .finalize();
  bind_absorption(module);
  bind_voltages(module);
  bind_bonding(module);
  bind_mean(module);
  py::dict flags;
  flags["over_range"] = bit(SampleFlag::over_range);
  flags["under_range"] = bit(SampleFlag::under_range);
  flags["range_changed"] = bit(SampleFlag::range_changed);
  flags["polarity_reversed"] = bit(SampleFlag::polarity_reversed);
  module.attr("flag_bits") = flags;
  module.def(
      "from_float32",
      [](const Array<float>& values) {
        const auto of = view(values);
        Array<double> out = new_array<double>(of.size());
        auto to = mutable_view(out);
        for (std::size_t i = 0; i < of.size(); ++i) to[i] = from_float32(of[i]);
        return out;
      },
      py::arg("values").noconvert());
  module.def(
      "accuracy",
      [](const Array<double>& table, const Array<double>& volts, bool log_scale, double divisor, double volt,
         double reading, double decision) {
        constexpr std::size_t fields = 7;
        const auto numbers = view(table), columns = view(volts);
        const std::size_t voltages = columns.empty() ? 1 : columns.size();
        if (numbers.size() % (fields * voltages) != 0) throw py::value_error("the table has no whole rows");
        std::vector<AccuracyLine> lines;
        for (std::size_t i = 0; i < numbers.size(); i += fields)
          lines.push_back({numbers[i], numbers[i + 1], numbers[i + 2], numbers[i + 3], numbers[i + 4], numbers[i + 5],
                           numbers[i + 6]});
        const AccuracySheet sheet{.lines = lines.data(),
                                  .test_voltages_volt = columns.empty() ? nullptr : columns.data(),
                                  .ranges = static_cast<std::uint16_t>(lines.size() / voltages),
                                  .voltages = static_cast<std::uint16_t>(voltages),
                                  .log_scale = log_scale,
                                  .divisor = divisor};
        refuse(check(sheet));
        const AccuracyAt at = sheet.find(volt, reading, decision);
        return py::make_tuple(at.standard_uncertainty, at.gain, at.reading, at.status);
      },
      py::arg("table").noconvert(), py::arg("test_voltages_volt").noconvert(), py::kw_only(), py::arg("log_scale"),
      py::arg("divisor"), py::arg("test_voltage_volt"), py::arg("reading"), py::arg("decision_value"));
  py::list remarks;
  for (const auto& [name, remark] :
       {std::pair{"stuck", formula::DecayRemark::stuck}, std::pair{"slows_down", formula::DecayRemark::slows_down},
        std::pair{"speeds_up", formula::DecayRemark::speeds_up},
        std::pair{"below_threshold", formula::DecayRemark::below_threshold},
        std::pair{"some_in_noise", formula::DecayRemark::some_in_noise}})
    remarks.append(py::make_tuple(name, 1U << static_cast<unsigned>(remark)));
  module.attr("decay_remarks") = py::tuple(remarks);
}

}  // namespace ohmward::python
