#include <pybind11/pybind11.h>
#include <pybind11/stl.h>

#include <cstdint>
#include <tuple>
#include <utility>
#include <vector>

#include "arrays.hpp"
#include "ohmward/core/censoring.hpp"
#include "ohmward/core/errors.hpp"
#include "ohmward/statistics/censored_regression.hpp"
#include "ohmward/statistics/roc.hpp"
#include "ohmward/thresholds/attenuation.hpp"
#include "ohmward/thresholds/best_threshold.hpp"
#include "ohmward/thresholds/decision_curve.hpp"
#include "ohmward/thresholds/rates.hpp"

namespace ohmward::python {

void bind_thresholds(py::module_& module);

namespace {

using Doubles = Array<double>;

/// The columns of a study; weight, cluster and stratum may be empty.
struct Units {
  Doubles low, high;
  Array<std::uint8_t> event;
  Doubles weight;
  Array<long> cluster, stratum;

  [[nodiscard]] statistics::ScoredUnits scored() const {
    return {view(low), view(high), view(event), view(weight), view(cluster), view(stratum)};
  }
};

template <class T>
Array<T> array_of(const std::vector<T>& values) {
  return Array<T>(static_cast<py::ssize_t>(values.size()), values.data());
}

py::dict area_dict(const statistics::Area& a) {
  py::dict out;
  out["area"] = a.area;
  out["standard_error"] = a.standard_error;
  out["degrees_of_freedom"] = a.degrees_of_freedom;
  out["low"] = a.low;
  out["high"] = a.high;
  return out;
}

py::dict share_dict(const thresholds::Share& s) {
  py::dict out;
  out["value"] = s.value;
  out["worst"] = s.worst;
  out["best"] = s.best;
  out["low"] = s.low;
  out["high"] = s.high;
  return out;
}

py::dict rule_dict(const thresholds::Rule& r) {
  py::dict out;
  out["threshold"] = r.threshold;
  out["up_to"] = r.up_to;
  out["above"] = r.above;
  out["cost"] = r.cost;
  out["sensitivity"] = r.sensitivity;
  out["specificity"] = r.specificity;
  return out;
}

py::dict counts_dict(const thresholds::FlagCounts& c) {
  py::dict out;
  out["with"] = c.with;
  out["without"] = c.without;
  out["unknown"] = c.unknown;
  out["with_flagged"] = py::make_tuple(c.with_flagged_low, c.with_flagged_high);
  out["without_flagged"] = py::make_tuple(c.without_flagged_low, c.without_flagged_high);
  out["unknown_flagged"] = py::make_tuple(c.unknown_flagged_low, c.unknown_flagged_high);
  out["left_out"] = c.left_out;
  return out;
}

thresholds::RatesOptions options_of(double level, bool exact, double prevalence) {
  return {.level = level,
          .interval = exact ? thresholds::ShareInterval::exact : thresholds::ShareInterval::wilson,
          .prevalence = prevalence};
}

void bind_areas(py::module_& module) {
  module.def(
      "area_under_curve",
      [](const Units& units, double level) {
        statistics::AreaUnderCurve r;
        {
          const py::gil_scoped_release release;
          r = statistics::area_under_curve(units.scored(), level);
        }
        py::dict out;
        out["middle"] = area_dict(r.middle);
        out["worst"] = area_dict(r.worst);
        out["best"] = area_dict(r.best);
        out["with"] = r.with;
        out["without"] = r.without;
        out["clusters"] = r.clusters;
        out["left_out"] = r.left_out;
        out["status"] = r.status;
        return out;
      },
      py::arg("units"), py::kw_only(), py::arg("level"));
  module.def(
      "compare_areas",
      [](const Units& units, const Doubles& low, const Doubles& high, double level) {
        const statistics::AreaComparison r = statistics::compare_areas(units.scored(), view(low), view(high), level);
        py::dict out;
        out["first"] = area_dict(r.first);
        out["second"] = area_dict(r.second);
        out["difference"] = area_dict(r.difference);
        out["p_value"] = r.p_value;
        out["left_out"] = r.left_out;
        out["status"] = r.status;
        return out;
      },
      py::arg("units"), py::arg("low").noconvert(), py::arg("high").noconvert(), py::kw_only(), py::arg("level"));
  module.def(
      "roc_curve",
      [](const Units& units) {
        const statistics::RocCurve r = statistics::roc_curve(units.scored());
        return py::make_tuple(array_of(r.threshold), array_of(r.with_low), array_of(r.with_high),
                              array_of(r.without_low), array_of(r.without_high), r.status);
      },
      py::arg("units"));
}

void bind_rules(py::module_& module) {
  module.def(
      "rates_at",
      [](const Units& units, double threshold, double level, bool exact, double prevalence) {
        const thresholds::Rates r =
            thresholds::rates_at(units.scored(), threshold, options_of(level, exact, prevalence));
        py::dict out;
        out["counts"] = counts_dict(r.counts);
        out["sensitivity"] = share_dict(r.sensitivity);
        out["specificity"] = share_dict(r.specificity);
        out["positive_predictive_value"] = share_dict(r.positive_predictive_value);
        out["negative_predictive_value"] = share_dict(r.negative_predictive_value);
        out["status"] = r.status;
        return out;
      },
      py::arg("units"), py::arg("threshold"), py::kw_only(), py::arg("level"), py::arg("exact"), py::arg("prevalence"));
  module.def(
      "threshold_for",
      [](const Units& units, bool sensitivity, double target, double level, bool exact) {
        const auto of = sensitivity ? thresholds::Target::sensitivity : thresholds::Target::specificity;
        const thresholds::TargetThreshold r =
            thresholds::threshold_for(units.scored(), of, target, options_of(level, exact, nan));
        return py::make_tuple(r.threshold, r.low, r.high, r.status);
      },
      py::arg("units"), py::kw_only(), py::arg("sensitivity"), py::arg("target"), py::arg("level"), py::arg("exact"));
  module.def(
      "best_threshold",
      [](const Units& units, double miss, double alarm, double prevalence, std::size_t replicates, double level,
         std::uint64_t seed, int threads) {
        thresholds::BestThreshold r;
        {
          const py::gil_scoped_release release;
          r = thresholds::best_threshold(units.scored(),
                                         {.of_miss = miss, .of_false_alarm = alarm, .prevalence = prevalence},
                                         {.replicates = replicates, .level = level, .seed = seed, .threads = threads});
        }
        py::dict out;
        out["rule"] = rule_dict(r.rule);
        out["low"] = r.low;
        out["high"] = r.high;
        out["cost_of_none"] = r.cost_of_none;
        out["cost_of_all"] = r.cost_of_all;
        out["optimism"] = r.optimism;
        out["cost_corrected"] = r.cost_corrected;
        out["flags_none"] = r.flags_none;
        out["flags_all"] = r.flags_all;
        out["undefined"] = r.undefined;
        out["thresholds"] = array_of(r.thresholds);
        out["status"] = r.status;
        return out;
      },
      py::arg("units"), py::kw_only(), py::arg("cost_of_miss"), py::arg("cost_of_false_alarm"), py::arg("prevalence"),
      py::arg("replicates"), py::arg("level"), py::arg("seed"), py::arg("threads"));
  module.def(
      "rule_at",
      [](const Units& units, double threshold, double miss, double alarm, double prevalence) {
        return rule_dict(thresholds::rule_at(units.scored(), threshold,
                                             {.of_miss = miss, .of_false_alarm = alarm, .prevalence = prevalence}));
      },
      py::arg("units"), py::arg("threshold"), py::kw_only(), py::arg("cost_of_miss"), py::arg("cost_of_false_alarm"),
      py::arg("prevalence"));
  module.def(
      "decision_curve",
      [](const Units& units, double threshold, const Doubles& probability, double prevalence, double level) {
        const thresholds::DecisionCurve r =
            thresholds::decision_curve(units.scored(), threshold, view(probability), prevalence, level);
        py::dict out;
        out["value"] = array_of(r.rule.value);
        out["low"] = array_of(r.rule.low);
        out["high"] = array_of(r.rule.high);
        out["all"] = array_of(r.all);
        out["best"] = array_of(r.best);
        out["prevalence"] = r.prevalence;
        out["status"] = r.status;
        return out;
      },
      py::arg("units"), py::arg("threshold"), py::arg("probability").noconvert(), py::kw_only(), py::arg("prevalence"),
      py::arg("level"));
}

std::vector<statistics::Observation> observations_of(const Doubles& low, const Doubles& high, const Doubles& u) {
  if (low.size() != high.size() || low.size() != u.size())
    throw InvalidParameter("standard_uncertainty", static_cast<double>(u.size()), "one a score");
  std::vector<statistics::Observation> out;
  for (std::size_t i = 0; i < view(low).size(); ++i) {
    const double from = view(low)[i], to = view(high)[i];
    const Censoring censoring = from == to       ? Censoring::exact
                                : to == infinity ? (from == -infinity ? Censoring::overload : Censoring::above)
                                                 : Censoring::below;
    out.push_back({censoring == Censoring::below ? to : from, censoring, view(u)[i]});
  }
  return out;
}

py::dict class_dict(const thresholds::ClassOfScores& c) {
  py::dict out;
  out["mean"] = c.mean;
  out["scatter"] = c.scatter;
  out["meter_scatter"] = c.meter_scatter;
  out["degrees_of_freedom"] = c.degrees_of_freedom;
  return out;
}

void bind_attenuation(py::module_& module) {
  using Columns = std::tuple<Doubles, Doubles, Doubles>;
  module.def(
      "attenuation",
      [](const Columns& with, const Columns& without, double area, double standard_error, double degrees_of_freedom,
         double level) {
        const auto of = [](const Columns& c) {
          return observations_of(std::get<0>(c), std::get<1>(c), std::get<2>(c));
        };
        const thresholds::Attenuation r = thresholds::attenuation(
            of(with), of(without),
            {.area = area, .standard_error = standard_error, .degrees_of_freedom = degrees_of_freedom}, level);
        py::dict out;
        out["with"] = class_dict(r.with);
        out["without"] = class_dict(r.without);
        out["area_without_meter"] = r.area_without_meter;
        out["low"] = r.low;
        out["high"] = r.high;
        out["normal_area_as_read"] = r.normal_area_as_read;
        out["normal_area_without_meter"] = r.normal_area_without_meter;
        out["meter_share"] = r.meter_share;
        out["status"] = r.status;
        return out;
      },
      py::arg("with_event"), py::arg("without_event"), py::kw_only(), py::arg("area"), py::arg("standard_error"),
      py::arg("degrees_of_freedom"), py::arg("level"));
}

}  // namespace

void bind_thresholds(py::module_& module) {
  py::class_<Units>(module, "Units")
      .def(py::init([](Doubles low, Doubles high, Array<std::uint8_t> event, Doubles weight, Array<long> cluster,
                       Array<long> stratum) {
             Units units{std::move(low),    std::move(high),    std::move(event),
                         std::move(weight), std::move(cluster), std::move(stratum)};
             statistics::require(units.scored());
             return units;
           }),
           py::arg("low").noconvert(), py::arg("high").noconvert(), py::arg("event").noconvert(),
           py::arg("weight").noconvert(), py::arg("cluster").noconvert(), py::arg("stratum").noconvert());
  bind_areas(module);
  bind_rules(module);
  bind_attenuation(module);
}

}  // namespace ohmward::python
