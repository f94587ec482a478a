#include <pybind11/native_enum.h>
#include <pybind11/pybind11.h>
#include <pybind11/stl.h>

#include <vector>

#include "arrays.hpp"
#include "ohmward/fleet/change.hpp"
#include "ohmward/fleet/trend.hpp"
#include "ohmward/statistics/censored_regression.hpp"
#include "quantity.hpp"

namespace ohmward::python {

void bind_fleet(py::module_& module);

namespace {

using Doubles = Array<double>;

std::vector<fleet::HistoryReading> history_of(const Doubles& day, const py::list& resistance, const Doubles& celsius,
                                              const Doubles& u_kelvin, const Array<bool>& after_repair) {
  const std::size_t n = view(day).size();
  if (resistance.size() != n || view(celsius).size() != n || view(u_kelvin).size() != n ||
      view(after_repair).size() != n)
    throw py::value_error("the columns of a history have different lengths");
  std::vector<fleet::HistoryReading> history;
  history.reserve(n);
  for (std::size_t i = 0; i < n; ++i)
    history.push_back({.day = view(day)[i],
                       .resistance = as_quantity(resistance[i].cast<py::tuple>()),
                       .part_celsius = view(celsius)[i],
                       .standard_uncertainty_kelvin = view(u_kelvin)[i],
                       .after_repair = view(after_repair)[i]});
  return history;
}

fleet::LikeScatter like_of(double scatter, double degrees_of_freedom) { return {scatter, degrees_of_freedom}; }

py::dict trend_dict(const fleet::Trend& t) {
  py::dict out;
  out["status"] = t.status;
  out["slope_per_year"] = t.slope_per_year;
  out["slope_standard_uncertainty_per_year"] = t.slope_standard_uncertainty_per_year;
  out["slope_low_per_year"] = t.slope_low_per_year;
  out["slope_high_per_year"] = t.slope_high_per_year;
  out["robust_slope_per_year"] = t.robust_slope_per_year;
  out["robust_low_per_year"] = t.robust_low_per_year;
  out["robust_high_per_year"] = t.robust_high_per_year;
  out["law_share"] = t.law_share;
  out["repair_step"] = t.repair_step;
  out["repair_step_standard_uncertainty"] = t.repair_step_standard_uncertainty;
  out["scatter"] = t.scatter;
  out["degrees_of_freedom"] = t.degrees_of_freedom;
  out["level_day"] = t.level_day;
  out["level_ohm"] = t.level_ohm;
  out["crossing_day"] = t.crossing_day;
  out["expected_crossing_day"] = t.expected_crossing_day;
  out["exact"] = t.exact;
  out["bounds"] = t.bounds;
  out["left_out"] = t.left_out;
  return out;
}

py::dict change_dict(const fleet::Change& c) {
  py::dict out;
  out["kind"] = c.kind;
  out["status"] = c.status;
  out["probability"] = c.probability;
  out["ln_ratio"] = c.ln_ratio;
  out["standard_uncertainty"] = c.standard_uncertainty;
  out["from_day"] = c.from_day;
  out["scatter"] = c.scatter;
  out["degrees_of_freedom"] = c.degrees_of_freedom;
  out["tried"] = c.tried;
  out["odd"] = c.odd;
  return out;
}

void bind_enums(py::module_& module) {
  py::native_enum<fleet::ChangeKind>(module, "ChangeKind", "enum.IntEnum")
      .value("none", fleet::ChangeKind::none)
      .value("steady", fleet::ChangeKind::steady)
      .value("step", fleet::ChangeKind::step)
      .value("growing", fleet::ChangeKind::growing)
      .finalize();
  py::native_enum<fleet::ChangeDirection>(module, "ChangeDirection", "enum.IntEnum")
      .value("either", fleet::ChangeDirection::either)
      .value("fall", fleet::ChangeDirection::fall)
      .value("rise", fleet::ChangeDirection::rise)
      .finalize();
}

}  // namespace

void bind_fleet(py::module_& module) {
  bind_enums(module);
  module.def(
      "trend",
      [](const Doubles& day, const py::list& resistance, const Doubles& celsius, const Doubles& u_kelvin,
         const Array<bool>& after_repair, const temperature::Law& law, double reference, double limit, double level,
         double horizon, double like_scatter, double like_freedom) {
        return trend_dict(fleet::trend(history_of(day, resistance, celsius, u_kelvin, after_repair),
                                       {.law = law,
                                        .reference_celsius = reference,
                                        .lower_limit_ohm = limit,
                                        .level = level,
                                        .horizon_day = horizon,
                                        .like = like_of(like_scatter, like_freedom)}));
      },
      py::arg("day").noconvert(), py::arg("resistance"), py::arg("part_celsius").noconvert(),
      py::arg("standard_uncertainty_kelvin").noconvert(), py::arg("after_repair").noconvert(), py::kw_only(),
      py::arg("law"), py::arg("reference_celsius"), py::arg("lower_limit_ohm"), py::arg("level"),
      py::arg("horizon_day"), py::arg("like_scatter"), py::arg("like_degrees_of_freedom"));
  module.def(
      "like_scatter",
      [](const py::list& parts, const temperature::Law& law, double reference) {
        std::vector<std::vector<fleet::HistoryReading>> histories;
        histories.reserve(parts.size());
        for (const auto& part : parts) {
          const auto columns = part.cast<py::tuple>();
          histories.push_back(history_of(columns[0].cast<Doubles>(), columns[1].cast<py::list>(),
                                         columns[2].cast<Doubles>(), columns[3].cast<Doubles>(),
                                         columns[4].cast<Array<bool>>()));
        }
        const fleet::LikeScatter found = fleet::like_scatter(histories, {.law = law, .reference_celsius = reference});
        return py::make_tuple(found.scatter, found.degrees_of_freedom);
      },
      py::arg("parts"), py::kw_only(), py::arg("law"), py::arg("reference_celsius"));
  module.def(
      "find_change",
      [](const Doubles& day, const py::list& resistance, const Doubles& celsius, const Doubles& u_kelvin,
         const Array<bool>& after_repair, const temperature::Law& law, double reference, double false_rate,
         fleet::ChangeDirection direction, double like_scatter, double like_freedom) {
        return change_dict(fleet::find_change(history_of(day, resistance, celsius, u_kelvin, after_repair),
                                              {.law = law,
                                               .reference_celsius = reference,
                                               .false_rate = false_rate,
                                               .direction = direction,
                                               .like = like_of(like_scatter, like_freedom)}));
      },
      py::arg("day").noconvert(), py::arg("resistance"), py::arg("part_celsius").noconvert(),
      py::arg("standard_uncertainty_kelvin").noconvert(), py::arg("after_repair").noconvert(), py::kw_only(),
      py::arg("law"), py::arg("reference_celsius"), py::arg("false_rate"), py::arg("direction"),
      py::arg("like_scatter"), py::arg("like_degrees_of_freedom"));
  module.def(
      "compare_like",
      [](const py::list& readings, double factor) {
        std::vector<uncertainty::Quantity> quantities;
        for (const auto& reading : readings) quantities.push_back(as_quantity(reading.cast<py::tuple>()));
        py::list out;
        for (const fleet::LikeResult& r : fleet::compare_like(quantities, factor))
          out.append(py::make_tuple(r.ratio, r.standard_uncertainty, r.stands_out, r.status));
        return out;
      },
      py::arg("readings"), py::kw_only(), py::arg("factor"));
  const auto observations = [](const Array<double>& y, const Array<std::int8_t>& censoring, const Array<double>& u) {
    std::vector<statistics::Observation> out;
    for (std::size_t i = 0; i < view(y).size(); ++i)
      out.push_back({view(y)[i], static_cast<Censoring>(view(censoring)[i]), view(u)[i]});
    return out;
  };
  module.def(
      "censored_line",
      [observations](const Array<double>& x, const Array<double>& y, const Array<std::int8_t>& censoring,
                     const Array<double>& u, bool estimate_scatter) {
        std::vector<double> rows;
        for (const double value : view(x)) {
          rows.push_back(1);
          rows.push_back(value);
        }
        const statistics::CensoredRegression r =
            statistics::censored_regression(observations(y, censoring, u), rows, 2, estimate_scatter);
        return py::make_tuple(r.status, r.coefficient, r.covariance, r.scatter, r.log_likelihood);
      },
      py::arg("x").noconvert(), py::arg("y").noconvert(), py::arg("censoring").noconvert(),
      py::arg("standard_uncertainty").noconvert(), py::kw_only(), py::arg("estimate_scatter"));
}

}  // namespace ohmward::python
