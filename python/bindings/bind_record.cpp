#include <pybind11/native_enum.h>
#include <pybind11/pybind11.h>
#include <pybind11/stl.h>

#include <tuple>

#include "ohmward/record/record.hpp"

namespace ohmward::python {

namespace py = pybind11;
using namespace record;

void bind_record(py::module_& module);

void bind_record(py::module_& module) {
  using namespace py::literals;
  py::native_enum<Entry::Kind>(module, "Kind", "enum.IntEnum")
      .value("reading", Entry::Kind::reading)
      .value("meter_check", Entry::Kind::meter_check)
      .value("evidence", Entry::Kind::evidence)
      .value("left_out", Entry::Kind::left_out)
      .finalize();
  module.attr("unplanned") = Entry::unplanned;
  module.def("usual_weight", [](const std::string& check) { return usual_weight(check); }, "check"_a);
  // A link is (check, weight, may be left out); an entry (link, kind, verdict, findings, good, has
  // reason, long enough, superseded).
  using PlainLink = std::tuple<std::string, int, bool>;
  using PlainEntry = std::tuple<std::int32_t, Entry::Kind, std::int8_t, std::uint64_t, bool, bool, bool, bool>;
  module.def(
      "judge",
      [](const std::vector<PlainLink>& plan, const std::vector<PlainEntry>& plain) {
        std::vector<PlannedLink> links;
        for (const auto& [check, weight, may_be_left_out] : plan) links.push_back({check, weight, may_be_left_out});
        std::vector<Entry> entries;
        for (const auto& [link, kind, verdict, findings, good, has_reason, long_enough, superseded] : plain)
          entries.push_back({link, kind, static_cast<conformity::Verdict>(verdict), Findings{findings}, good,
                             has_reason, long_enough, superseded});
        const record::Finding found = judge(links, entries);
        py::list judged;
        for (const LinkFinding& link : found.links)
          judged.append(py::make_tuple(std::string{text(link.state)}, std::string{text(link.cause)}, link.entry));
        py::list groups;
        for (const Group& group : found.groups)
          groups.append(py::make_tuple(std::string{text(group.cause)}, group.weight, group.links));
        return py::dict("completeness"_a = std::string{text(found.completeness)},
                        "conformity"_a = std::string{text(found.conformity)}, "links"_a = judged, "groups"_a = groups,
                        "failing_unplanned"_a = found.failing_unplanned);
      },
      py::kw_only(), "plan"_a, "entries"_a);
}

}  // namespace ohmward::python
