#pragma once

#include <vector>

#include "ohmward/screening/marks.hpp"
#include "screening/rows.hpp"

namespace ohmward::screening {

using Found = std::vector<Evidence>;

// One kind of mark a function, none of which looks at what another found.
[[nodiscard]] Found unit_slips(const Rows& rows, const Settings& settings);
[[nodiscard]] Found mistyped_objects(const Rows& rows, const Settings& settings);
[[nodiscard]] Found copied_vectors(const Rows& rows, const Settings& settings);
[[nodiscard]] Found ceilings_as_numbers(const Rows& rows, const Settings& settings);
[[nodiscard]] Found monitors_left_on(const Rows& rows, const Settings& settings);
[[nodiscard]] Found nulls_of_sessions(const Rows& rows, const Settings& settings);
[[nodiscard]] Found leads_in_the_path(const Rows& rows, const Settings& settings);
[[nodiscard]] Found open_contactors(const Rows& rows, const Settings& settings);
[[nodiscard]] Found sessions_without_contact(const Rows& rows, const Settings& settings);
[[nodiscard]] Found drifting_meters(const Rows& rows, const Settings& settings);
[[nodiscard]] Found wrong_functions(const Rows& rows, const Settings& settings);
[[nodiscard]] Found joined_poles(const Rows& rows, const Settings& settings);
[[nodiscard]] Found unsettled_readings(const Rows& rows, const Settings& settings);
[[nodiscard]] Found unlike_joints(const Rows& rows, const Settings& settings);
[[nodiscard]] Found unlike_parts(const Rows& rows, const Settings& settings);
[[nodiscard]] Found unlike_pairs(const Rows& rows, const Settings& settings);

}  // namespace ohmward::screening
