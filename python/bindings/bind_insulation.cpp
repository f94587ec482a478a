#include <pybind11/native_enum.h>
#include <pybind11/pybind11.h>
#include <pybind11/stl.h>

#include <algorithm>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "arrays.hpp"
#include "ohmward/formula/settling.hpp"
#include "ohmward/insulation/absorption_fit.hpp"
#include "ohmward/insulation/contact.hpp"
#include "ohmward/insulation/discharge.hpp"
#include "ohmward/insulation/forecast.hpp"
#include "ohmward/insulation/minima.hpp"
#include "ohmward/insulation/patterns.hpp"
#include "ohmward/insulation/settling.hpp"
#include "ohmward/insulation/steps.hpp"
#include "quantity.hpp"

namespace ohmward::python {

using namespace insulation;

void bind_insulation(py::module_& module);

namespace {

/// Columns of many runs, one after the other; run i holds rows offset[i] to offset[i + 1]. A column that is not there
/// is not known of any reading.
struct RunColumns {
  Array<double> time_second, resistance_ohm;
  std::optional<Array<std::int8_t>> censoring;
  std::optional<Array<double>> applied_volt, part_celsius, relative_standard_uncertainty, display_step_ohm;
  std::optional<Array<std::int32_t>> range;
};

template <class T>
void check_length(const std::optional<Array<T>>& column, py::ssize_t wanted) {
  if (column.has_value() && column->size() != wanted)
    throw py::value_error("the columns of a run have different lengths");
}

/// The samples of columns, to be read without the interpreter's lock.
class Samples {
 public:
  explicit Samples(const RunColumns& c)
      : time_(view(c.time_second)),
        ohm_(view(c.resistance_ohm)),
        censoring_(seen(c.censoring)),
        volt_(seen(c.applied_volt)),
        celsius_(seen(c.part_celsius)),
        u_(seen(c.relative_standard_uncertainty)),
        step_(seen(c.display_step_ohm)),
        range_(seen(c.range)) {
    const py::ssize_t n = c.time_second.size();
    if (c.resistance_ohm.size() != n) throw py::value_error("the columns of a run have different lengths");
    check_length(c.censoring, n);
    check_length(c.applied_volt, n);
    check_length(c.part_celsius, n);
    check_length(c.relative_standard_uncertainty, n);
    check_length(c.display_step_ohm, n);
    check_length(c.range, n);
  }

  [[nodiscard]] std::vector<Sample> between(std::size_t begin, std::size_t end) const {
    std::vector<Sample> samples;
    samples.reserve(end - begin);
    for (std::size_t i = begin; i < end; ++i)
      samples.push_back({.time_second = time_[i],
                         .resistance_ohm = ohm_[i],
                         .censoring = censoring_.empty() ? Censoring::exact : static_cast<Censoring>(censoring_[i]),
                         .applied_volt = of(volt_, i),
                         .part_celsius = of(celsius_, i),
                         .relative_standard_uncertainty = of(u_, i),
                         .display_step_ohm = of(step_, i),
                         .range = range_.empty() ? Sample::range_not_known : range_[i]});
    return samples;
  }
  [[nodiscard]] std::size_t size() const noexcept { return time_.size(); }

 private:
  template <class T>
  static std::span<const T> seen(const std::optional<Array<T>>& column) {
    return column.has_value() ? view(*column) : std::span<const T>{};
  }
  static double of(std::span<const double> column, std::size_t i) noexcept { return column.empty() ? nan : column[i]; }

  std::span<const double> time_, ohm_;
  std::span<const std::int8_t> censoring_;
  std::span<const double> volt_, celsius_, u_, step_;
  std::span<const std::int32_t> range_;
};

void check_offsets(std::span<const std::int64_t> offset, std::size_t readings) {
  if (offset.empty() || offset.front() != 0 || offset.back() != static_cast<std::int64_t>(readings))
    throw py::value_error("offset must begin with 0 and end with the number of readings");
  if (!std::is_sorted(offset.begin(), offset.end())) throw py::value_error("offset must not fall");
}

TimedRun run_between(const Samples& samples, std::span<const std::int64_t> offset, std::size_t i,
                     const RunConditions& conditions) {
  return {samples.between(static_cast<std::size_t>(offset[i]), static_cast<std::size_t>(offset[i + 1])), conditions};
}

RunConditions conditions_of(double test_voltage, double source, double u, double common, bool corrected) {
  return {test_voltage, source, u, common, corrected};
}

template <class T, class Get>
py::array column(std::size_t size, const Get& get) {
  Array<T> out = new_array<T>(size);
  auto values = mutable_view(out);
  for (std::size_t i = 0; i < size; ++i) values[i] = get(i);
  return out;
}

py::dict forecast_columns(std::span<const formula::Forecast> f) {
  py::dict out;
  const auto add = [&](const char* name, double formula::Forecast::* member) {
    out[name] = column<double>(f.size(), [&](std::size_t i) { return f[i].*member; });
  };
  add("value", &formula::Forecast::value);
  add("low", &formula::Forecast::low);
  add("high", &formula::Forecast::high);
  add("noise", &formula::Forecast::noise);
  add("kernel_width", &formula::Forecast::kernel_width);
  add("least_distance", &formula::Forecast::least_distance);
  add("steepening", &formula::Forecast::steepening);
  out["status"] = column<std::int8_t>(f.size(), [&](std::size_t i) { return static_cast<std::int8_t>(f[i].status); });
  constexpr std::size_t mechanisms = formula::forecast_mechanisms;
  out["mechanism"] =
      column<double>(f.size() * mechanisms, [&](std::size_t i) { return f[i / mechanisms].mechanism[i % mechanisms]; });
  return out;
}

/// Columns of many fits, written run by run and from several threads.
class FitColumns {
 public:
  explicit FitColumns(std::size_t runs)
      : chosen_(new_array<std::int8_t>(runs)),
        run_status_(new_array<std::int8_t>(runs)),
        status_(new_array<std::int8_t>(runs * models)),
        at_bound_(new_array<std::uint8_t>(runs * models)),
        value_(new_array<double>(runs * models * fit_parameters)),
        u_(new_array<double>(runs * models * fit_parameters)),
        correlation_(new_array<double>(runs * models * fit_parameters * fit_parameters)) {
    for (Array<double>& of : scalar_) of = new_array<double>(runs * models);
    to_ = {mutable_view(chosen_), mutable_view(run_status_), mutable_view(status_),     mutable_view(at_bound_),
           mutable_view(value_),  mutable_view(u_),          mutable_view(correlation_)};
    for (std::size_t s = 0; s < scalars; ++s) to_.scalar[s] = mutable_view(scalar_[s]);
  }

  void take(std::size_t run, const AbsorptionFits& fits) noexcept {
    to_.chosen[run] = static_cast<std::int8_t>(fits.chosen);
    to_.run_status[run] = static_cast<std::int8_t>(fits.status);
    for (std::size_t m = 0; m < models; ++m) {
      const AbsorptionFit& fit = fits.of[m];
      const std::size_t at = run * models + m;
      to_.status[at] = static_cast<std::int8_t>(fit.status);
      to_.at_bound[at] = fit.at_bound;
      const double scalar[scalars] = {fit.sum_of_squares, fit.relative_scatter, fit.autocorrelation, fit.criterion};
      for (std::size_t s = 0; s < scalars; ++s) to_.scalar[s][at] = scalar[s];
      for (std::size_t p = 0; p < fit_parameters; ++p) {
        to_.value[at * fit_parameters + p] = fit.value[p];
        to_.u[at * fit_parameters + p] = fit.standard_uncertainty[p];
        for (std::size_t q = 0; q < fit_parameters; ++q)
          to_.correlation[(at * fit_parameters + p) * fit_parameters + q] = fit.correlation[p][q];
      }
    }
  }

  [[nodiscard]] py::dict columns() const {
    py::dict out;
    out["chosen"] = chosen_;
    out["run_status"] = run_status_;
    out["status"] = status_;
    out["at_bound"] = at_bound_;
    constexpr const char* names[scalars] = {"sum_of_squares", "relative_scatter", "autocorrelation", "criterion"};
    for (std::size_t s = 0; s < scalars; ++s) out[names[s]] = scalar_[s];
    out["value"] = value_;
    out["standard_uncertainty"] = u_;
    out["correlation"] = correlation_;
    return out;
  }

 private:
  static constexpr std::size_t models = 4, scalars = 4;

  Array<std::int8_t> chosen_, run_status_, status_;
  Array<std::uint8_t> at_bound_;
  Array<double> value_, u_, correlation_, scalar_[scalars];
  struct {
    std::span<std::int8_t> chosen{}, run_status{}, status{};
    std::span<std::uint8_t> at_bound{};
    std::span<double> value{}, u{}, correlation{}, scalar[scalars]{};
  } to_;
};

formula::ForecastMode mode_of(const std::string& name) {
  if (name == "fine") return formula::forecast_fine;
  if (name == "compact") return formula::forecast_compact;
  throw py::value_error("mode is '" + name + "', expected 'fine' or 'compact'");
}

py::tuple figure(const TestFigure& f) {
  return py::make_tuple(f.test_low_volt, f.test_high_volt, f.minimum_ohm, f.status, std::string(f.source));
}
py::tuple figure(const TableFigure& f) { return py::make_tuple(f.value, f.status, std::string(f.source)); }

py::dict settling_dict(const SettlingState& s) {
  py::dict out;
  out["state"] = s.state;
  out["status"] = s.status;
  out["slope"] = s.slope;
  out["slope_standard_uncertainty"] = s.slope_standard_uncertainty;
  out["charging_until_second"] = s.charging_until_second;
  out["absorption_until_second"] = s.absorption_until_second;
  out["may_stop_second"] = s.may_stop_second;
  return out;
}

void bind_enums(py::module_& module) {
  py::native_enum<Settling>(module, "Settling", "enum.IntEnum")
      .value("unknown", Settling::unknown)
      .value("charging", Settling::charging)
      .value("absorbing", Settling::absorbing)
      .value("settled", Settling::settled)
      .value("nothing_more_to_learn", Settling::nothing_more_to_learn)
      .finalize();
  py::native_enum<Contact>(module, "Contact", "enum.IntEnum")
      .value("not_shown", Contact::not_shown)
      .value("by_reading", Contact::by_reading)
      .value("by_capacitance", Contact::by_capacitance)
      .value("by_resistor", Contact::by_resistor)
      .value("by_lead", Contact::by_lead)
      .value("by_charging", Contact::by_charging)
      .finalize();
  py::native_enum<IndexCriterion>(module, "IndexCriterion", "enum.IntEnum")
      .value("applies", IndexCriterion::applies)
      .value("does_not_apply", IndexCriterion::does_not_apply)
      .value("undetermined", IndexCriterion::undetermined)
      .finalize();
  py::native_enum<Winding>(module, "Winding", "enum.IntEnum")
      .value("before_1970_field_or_other", Winding::before_1970_field_or_other)
      .value("form_wound", Winding::form_wound)
      .value("random_wound", Winding::random_wound)
      .value("form_wound_below_1000_volt", Winding::form_wound_below_1000_volt)
      .value("dc_armature", Winding::dc_armature)
      .finalize();
  py::native_enum<Index>(module, "Index", "enum.IntEnum")
      .value("polarisation", Index::polarisation)
      .value("absorption_60_30", Index::absorption_60_30)
      .value("dielectric_discharge", Index::dielectric_discharge)
      .finalize();
  py::native_enum<AbsorptionModel>(module, "AbsorptionModel", "enum.IntEnum")
      .value("conduction", AbsorptionModel::conduction)
      .value("absorption", AbsorptionModel::absorption)
      .value("charging", AbsorptionModel::charging)
      .value("absorption_and_charging", AbsorptionModel::absorption_and_charging)
      .finalize();
  py::native_enum<Pattern>(module, "Pattern", "enum.IntEnum")
      .value("moisture", Pattern::moisture)
      .value("surface", Pattern::surface)
      .value("contact", Pattern::contact)
      .value("monitor_left_on", Pattern::monitor_left_on)
      .value("leftover_charge", Pattern::leftover_charge)
      .value("cooling", Pattern::cooling)
      .finalize();
}

void bind_run(py::module_& module) {
  py::class_<TimedRun>(module, "TimedRun")
      .def(py::init([](const Array<double>& t, const Array<double>& r, std::optional<Array<std::int8_t>> censoring,
                       std::optional<Array<double>> volt, std::optional<Array<double>> celsius,
                       std::optional<Array<double>> u_of_each, std::optional<Array<double>> step,
                       std::optional<Array<std::int32_t>> range, double test_voltage, double source, double u,
                       double common, bool corrected) {
             const RunColumns columns{t,
                                      r,
                                      std::move(censoring),
                                      std::move(volt),
                                      std::move(celsius),
                                      std::move(u_of_each),
                                      std::move(step),
                                      std::move(range)};
             const Samples samples(columns);
             return TimedRun(samples.between(0, samples.size()),
                             conditions_of(test_voltage, source, u, common, corrected));
           }),
           py::arg("time_second").noconvert(), py::arg("resistance_ohm").noconvert(), py::kw_only(),
           py::arg("censoring").noconvert(), py::arg("applied_volt").noconvert(), py::arg("part_celsius").noconvert(),
           py::arg("reading_standard_uncertainty").noconvert(), py::arg("display_step_ohm").noconvert(),
           py::arg("range").noconvert(), py::arg("test_voltage_volt"), py::arg("source_ampere"),
           py::arg("relative_standard_uncertainty"), py::arg("common_relative_standard_uncertainty"),
           py::arg("corrected_to_steady_temperature"))
      .def_property_readonly("status", &TimedRun::status)
      .def_property_readonly("marks",
                             [](const TimedRun& run) {
                               const auto marks = run.marks();
                               return column<std::uint16_t>(marks.size(), [&](std::size_t i) { return marks[i]; });
                             })
      .def_property_readonly(
          "usable",
          [](const TimedRun& run) {
            const auto s = run.usable();
            return py::make_tuple(
                column<double>(s.size(), [&](std::size_t i) { return s[i].time_second; }),
                column<double>(s.size(), [&](std::size_t i) { return s[i].resistance_ohm; }),
                column<std::int8_t>(s.size(), [&](std::size_t i) { return static_cast<std::int8_t>(s[i].censoring); }));
          })
      .def_property_readonly("corrected_to_steady_temperature",
                             [](const TimedRun& run) { return run.conditions().corrected_to_steady_temperature; })
      .def_property_readonly("quality",
                             [](const TimedRun& run) {
                               const RunQuality& q = run.quality();
                               py::dict out;
                               out["scatter"] = q.scatter;
                               out["autocorrelation"] = q.autocorrelation;
                               out["effective_readings"] = q.effective_readings;
                               out["drift_kelvin"] = q.drift_kelvin;
                               out["autocorrelated"] = q.autocorrelated;
                               return out;
                             })
      .def("first", &TimedRun::first, py::arg("second"))
      .def("at_steady_temperature", &TimedRun::at_steady_temperature, py::kw_only(), py::arg("law"),
           py::arg("reference_celsius"))
      .def(
          "at", [](const TimedRun& run, double second) { return as_tuple(run.at(second)); }, py::arg("second"))
      .def(
          "ratio", [](const TimedRun& run, double late, double early) { return as_tuple(run.ratio({late, early})); },
          py::kw_only(), py::arg("late_second"), py::arg("early_second"))
      .def(
          "settling",
          [](const TimedRun& run, double low, double high, double visible, double loss, const std::string& mode) {
            const bool compact = mode_of(mode).curves == formula::forecast_compact.curves;
            return settling_dict(
                settling(run, {.capacitance = {low, high}, .least_visible_change = visible, .loss_factor = loss},
                         compact ? SettlingTailOf::compact : SettlingTailOf::fine));
          },
          py::kw_only(), py::arg("capacitance_low_farad"), py::arg("capacitance_high_farad"),
          py::arg("least_visible_change"), py::arg("loss_factor"), py::arg("mode"))
      .def("fit",
           [](const TimedRun& run) {
             FitColumns fits(1);
             fits.take(0, fit_absorption(run));
             return fits.columns();
           })
      .def(
          "forecast",
          [](const TimedRun& run, double early, double late, double level, double drift, double per_kelvin, bool steady,
             const std::string& mode, unsigned threads) {
            const ForecastOptions options{{early, late, drift, per_kelvin},
                                          mode_of(mode),
                                          level,
                                          steady ? ForecastKind::steady_temperature : ForecastKind::as_shown};
            std::vector<formula::Forecast> f;
            {
              const py::gil_scoped_release unlocked;
              f = forecast({&run, 1}, options, threads);
            }
            return forecast_columns(f);
          },
          py::kw_only(), py::arg("early_second"), py::arg("late_second"), py::arg("level"), py::arg("drift_kelvin"),
          py::arg("current_per_kelvin"), py::arg("steady"), py::arg("mode"), py::arg("threads"));
  module.def(
      "fit_runs",
      [](const Array<double>& t, const Array<double>& r, const Array<std::int64_t>& offset, double u,
         unsigned threads) {
        const Samples samples({t, r, {}, {}, {}, {}, {}, {}});
        const std::span<const std::int64_t> offsets = view(offset);
        check_offsets(offsets, samples.size());
        const RunConditions conditions = conditions_of(nan, nan, u, 0, false);
        const TimedRun checked({}, conditions);
        FitColumns fits(offsets.size() - 1);
        {
          const py::gil_scoped_release unlocked;
          fit_absorption(
              offsets.size() - 1, [&](std::size_t i) { return run_between(samples, offsets, i, conditions); },
              [&](std::size_t i, const AbsorptionFits& found) { fits.take(i, found); }, threads);
        }
        return fits.columns();
      },
      py::arg("time_second").noconvert(), py::arg("resistance_ohm").noconvert(), py::arg("offset").noconvert(),
      py::kw_only(), py::arg("relative_standard_uncertainty"), py::arg("threads"));
  module.def(
      "forecast_runs",
      [](const Array<double>& t, const Array<double>& r, const Array<std::int64_t>& offset, double early, double late,
         double level, double drift, double per_kelvin, const std::string& mode, unsigned threads) {
        const Samples samples({t, r, {}, {}, {}, {}, {}, {}});
        const std::span<const std::int64_t> offsets = view(offset);
        check_offsets(offsets, samples.size());
        std::vector<TimedRun> runs;
        runs.reserve(offsets.size() - 1);
        for (std::size_t i = 0; i + 1 < offsets.size(); ++i) runs.push_back(run_between(samples, offsets, i, {}));
        const ForecastOptions options{{early, late, drift, per_kelvin}, mode_of(mode), level, ForecastKind::as_shown};
        std::vector<formula::Forecast> f;
        {
          const py::gil_scoped_release unlocked;
          f = forecast(runs, options, threads);
        }
        return forecast_columns(f);
      },
      py::arg("time_second").noconvert(), py::arg("resistance_ohm").noconvert(), py::arg("offset").noconvert(),
      py::kw_only(), py::arg("early_second"), py::arg("late_second"), py::arg("level"), py::arg("drift_kelvin"),
      py::arg("current_per_kelvin"), py::arg("mode"), py::arg("threads"));
}

void bind_spots(py::module_& module) {
  module.def(
      "ratio",
      [](const py::tuple& late, const py::tuple& early, bool same_range) {
        const uncertainty::Quantity a = as_quantity(late), b = as_quantity(early);
        return as_tuple(ratio({.late = a, .early = b, .same_range = same_range}));
      },
      py::kw_only(), py::arg("late"), py::arg("early"), py::arg("same_range"));
  module.def(
      "index_criterion",
      [](const py::tuple& as_read, const py::tuple& at_40) {
        const uncertainty::Quantity a = as_quantity(as_read), b = as_quantity(at_40);
        return index_criterion({.as_read = a, .at_40_celsius = b});
      },
      py::kw_only(), py::arg("as_read"), py::arg("at_40_celsius"));
  module.def(
      "contact",
      [](const py::tuple& reading, const py::tuple& capacitance, double resistor, double with_resistor, double lead,
         bool charging) {
        const uncertainty::Quantity r = as_quantity(reading);
        return contact({.reading = r,
                        .capacitance = as_quantity(capacitance),
                        .known_resistor_ohm = resistor,
                        .reading_with_resistor_ohm = with_resistor,
                        .lead_ohm = lead,
                        .charging_seen = charging});
      },
      py::kw_only(), py::arg("reading"), py::arg("capacitance"), py::arg("known_resistor_ohm"),
      py::arg("reading_with_resistor_ohm"), py::arg("lead_ohm"), py::arg("charging_seen"));
  module.def(
      "machine_minimum_ohm",
      [](Winding winding, double volt, int edition) {
        return figure(machine_minimum_ohm({winding, volt, static_cast<Edition>(edition)}));
      },
      py::kw_only(), py::arg("winding"), py::arg("rated_volt"), py::arg("edition"));
  module.def(
      "minimum_polarisation_index",
      [](double celsius, int edition) {
        return figure(minimum_polarisation_index({celsius, static_cast<Edition>(edition)}));
      },
      py::kw_only(), py::arg("thermal_class_celsius"), py::arg("edition"));
  module.def(
      "machine_test_voltage", [](double volt) { return figure(machine_test_voltage(volt)); }, py::arg("rated_volt"));
  module.def("apparatus_test", [](double volt) { return figure(apparatus_test(volt)); }, py::arg("rated_volt"));
  module.def("installation_test", [](double volt) { return figure(installation_test(volt)); }, py::arg("nominal_volt"));
  module.def(
      "band",
      [](Index index, double value) {
        const Band b = band(index, value);
        return py::make_tuple(b.from, b.to, std::string(b.word), b.status, std::string(b.source));
      },
      py::arg("index"), py::arg("value"));
  module.def(
      "applied_voltage_volt",
      [](double set, double source, double ohm) {
        const Checked<double> v = formula::applied_voltage_volt({set, source, ohm});
        return py::make_tuple(v.value, v.status);
      },
      py::kw_only(), py::arg("set_volt"), py::arg("source_ampere"), py::arg("resistance_ohm"));
  module.def(
      "steps",
      [](const Array<double>& volt, const Array<double>& ohm, const Array<double>& u) {
        if (volt.size() != ohm.size() || volt.size() != u.size())
          throw py::value_error("the columns have different lengths");
        std::vector<VoltageStep> readings;
        for (std::size_t i = 0; i < view(volt).size(); ++i)
          readings.push_back({view(volt)[i], view(ohm)[i], view(u)[i]});
        const StepResult s = steps(readings);
        py::dict out;
        out["status"] = s.status;
        out["conductance_siemens"] = s.conductance_siemens;
        out["conductance_standard_uncertainty"] = s.conductance_standard_uncertainty;
        out["offset_ampere"] = s.offset_ampere;
        out["offset_standard_uncertainty"] = s.offset_standard_uncertainty;
        out["chi_squared"] = s.chi_squared;
        out["degrees_of_freedom"] = s.degrees_of_freedom;
        out["bends"] = s.bends;
        out["falls"] = s.falls;
        out["high_over_low"] = as_tuple(s.high_over_low);
        out["experience"] = std::string(fall_experience);
        return out;
      },
      py::arg("applied_volt").noconvert(), py::arg("resistance_ohm").noconvert(),
      py::arg("relative_standard_uncertainty").noconvert());
  module.def(
      "discharge",
      [](const Array<double>& t, const Array<double>& current, double volt, double charge, double farad) {
        if (t.size() != current.size()) throw py::value_error("the columns have different lengths");
        std::vector<DischargeSample> readings;
        for (std::size_t i = 0; i < view(t).size(); ++i) readings.push_back({view(t)[i], view(current)[i]});
        const DischargeResult d = discharge(readings, {volt, charge, farad});
        py::dict out;
        out["status"] = d.status;
        out["capacitance_farad"] = d.capacitance_farad;
        out["current_at_60_second_ampere"] = d.current_at_60_second_ampere;
        out["dielectric_discharge"] = d.dielectric_discharge;
        out["tail_exponent"] = d.tail_exponent;
        out["tail_ampere"] = d.tail_ampere;
        out["time_constant_second"] = d.time_constant_second;
        out["band"] = std::string(d.band.word);
        out["experience"] = std::string(discharge_experience);
        return out;
      },
      py::arg("time_second").noconvert(), py::arg("current_ampere").noconvert(), py::kw_only(),
      py::arg("test_voltage_volt"), py::arg("charge_second"), py::arg("capacitance_farad"));
  module.def(
      "attainable_ratio",
      [](const py::tuple& early, double high_farad, double late_second, double early_second, double loss,
         double exponent) {
        const uncertainty::Quantity q = as_quantity(early);
        const AttainableRatio a = attainable_ratio({.early = q,
                                                    .capacitance = {.high_farad = high_farad},
                                                    .times = {late_second, early_second},
                                                    .loss_factor = loss,
                                                    .absorption_exponent = exponent});
        return py::make_tuple(a.value, a.status);
      },
      py::kw_only(), py::arg("early"), py::arg("capacitance_farad"), py::arg("late_second"), py::arg("early_second"),
      py::arg("loss_factor"), py::arg("absorption_exponent"));
  module.def(
      "consistent_with",
      [](const py::tuple& resistance, const py::tuple& index, double attainable, const py::tuple& guarded,
         const py::tuple& dried, bool falls, bool drifts, double slope, double warmer, double cooled,
         double above_dew_point, double rested, bool contact_shown, bool alone) {
        PatternEvidence e{.resistance = as_quantity(resistance),
                          .index = as_quantity(index),
                          .attainable = {.value = attainable,
                                         .status = attainable == attainable ? Status::sound : Status::missing_input},
                          .guarded_over_plain = as_quantity(guarded),
                          .dried_over_before = as_quantity(dried),
                          .part_warmer_than_air_kelvin = warmer,
                          .cooled_kelvin = cooled,
                          .above_dew_point_kelvin = above_dew_point,
                          .rested_over_tested = rested,
                          .contact_shown = contact_shown,
                          .alone = alone};
        e.steps.status = Status::sound;
        e.steps.falls = falls;
        e.settling.status = drifts ? Status::drift_present : Status::sound;
        e.settling.slope = slope;
        py::list out;
        for (const PatternFound& p : consistent_with(e))
          out.append(py::make_tuple(p.pattern, std::string(p.evidence), std::string(p.would_settle)));
        return out;
      },
      py::kw_only(), py::arg("resistance"), py::arg("index"), py::arg("attainable"), py::arg("guarded_over_plain"),
      py::arg("dried_over_before"), py::arg("falls"), py::arg("drifts"), py::arg("slope"),
      py::arg("part_warmer_than_air_kelvin"), py::arg("cooled_kelvin"), py::arg("above_dew_point_kelvin"),
      py::arg("rested_over_tested"), py::arg("contact_shown"), py::arg("alone"));
}

}  // namespace

void bind_insulation(py::module_& module) {
  bind_enums(module);
  bind_run(module);
  bind_spots(module);
  py::dict marks;
  marks["missing"] = bit(Mark::missing);
  marks["impossible"] = bit(Mark::impossible);
  marks["time_not_rising"] = bit(Mark::time_not_rising);
  marks["over_range"] = bit(Mark::over_range);
  marks["after_gap"] = bit(Mark::after_gap);
  marks["sagging"] = bit(Mark::sagging);
  marks["slip"] = bit(Mark::slip);
  marks["jump"] = bit(Mark::jump);
  marks["range_change"] = bit(Mark::range_change);
  marks["temperature_drift"] = bit(Mark::temperature_drift);
  marks["coarse_display"] = bit(Mark::coarse_display);
  marks["autocorrelated"] = bit(Mark::autocorrelated);
  module.attr("mark_bits") = marks;
}

}  // namespace ohmward::python
