#pragma once

#include <cstdint>
#include <string_view>

/// What a person does next: name, number, text. Numbers never change meaning; new ones are appended.
#define OHMWARD_NEXT_ACTION_TABLE(entry) \
  entry(none, 0, "") \
  entry(dry_and_measure_again, 1, \
        "hold; clean and dry, measure again at the same test voltage with the isolation monitor disconnected, then " \
        "unplug one consumer after the other") \
  entry(remake_joint, 2, "hold; clean and tighten the joint, null the leads on bare metal, read again") \
  entry(isolate_again, 3, \
        "hold; a voltage is present: isolate again, wait the maker's time, prove the meter and read every pair") \
  entry(examine_part, 4, "hold; find the cause before the part is used") \
  entry(read_again, 5, "read again; the value lies within the meter's uncertainty of the limit") \
  entry(read_with_better_meter, 6, "read with a meter of smaller uncertainty or a wider range") \
  entry(write_temperature, 7, "read again and write down the temperature of the part") \
  entry(ask_for_limit, 8, "ask for the maker's limit or set one for the workshop") \
  entry(ask_for_law, 9, "compare with a limit as read: no temperature law holds for this part") \
  entry(read_at_required_voltage, 10, "read again at the required test voltage") \
  entry(read_at_required_current, 11, "read again with at least the required test current") \
  entry(show_contact, 12, \
        "show contact: capacitance, a known resistor at the clips, or a low-ohm reading of the clip point; then read " \
        "again") \
  entry(check_unit, 13, "look at the sheet: is the unit right?") \
  entry(check_object, 14, "look at the sheet: is the vehicle right?") \
  entry(repeat_inspection, 15, "measure again: the values repeat those of another job") \
  entry(close_contactor_or_plug, 16, "read again with every plug fitted and the contactors as the procedure asks") \
  entry(check_function, 17, "read again in the right function and range") \
  entry(check_meter, 18, "check the meter against a known resistor, have it calibrated") \
  entry(null_leads, 19, "null the leads on bare metal and read the session again") \
  entry(disconnect_monitor, 20, "read again with the isolation monitor disconnected") \
  entry(prove_meter, 21, "prove the meter on a known source before and after, then read every pair again") \
  entry(name_instrument, 22, "write down which meter was used, add its accuracy sheet") \
  entry(write_test_voltage, 23, "read again and write down the test voltage") \
  entry(write_times, 24, "write down both times of the ratio") \
  entry(let_rest, 25, "let the battery rest with everything asleep, read again") \
  entry(read_each_battery, 26, "read each battery of the pair") \
  entry(charge, 27, "charge, let it rest, read again") \
  entry(nothing_to_learn, 28, "no more to learn from this quantity on this part") \
  entry(read_value_again, 29, "read again: the value written down can not be used") \
  entry(write_run, 30, "write down the resistance at both times, the temperature and the capacitance of the run") \
  entry( \
      run_again, 31, \
      "discharge for four times as long as the test lasted, let the part come to one temperature, run the test again") \
  entry(read_every_pair, 32, "read every pair and each pole to chassis, write down between which points")

namespace ohmward::assessment {

enum class NextAction : std::uint8_t {
#define OHMWARD_NEXT_ACTION_ENTRY(name, number, text) name = number,
  OHMWARD_NEXT_ACTION_TABLE(OHMWARD_NEXT_ACTION_ENTRY)
#undef OHMWARD_NEXT_ACTION_ENTRY
};

[[nodiscard]] constexpr std::string_view text(NextAction action) noexcept {
  switch (action) {
#define OHMWARD_NEXT_ACTION_ENTRY(name, number, text) \
  case NextAction::name: return text;
    OHMWARD_NEXT_ACTION_TABLE(OHMWARD_NEXT_ACTION_ENTRY)
#undef OHMWARD_NEXT_ACTION_ENTRY
  }
  return "unknown action";
}

}  // namespace ohmward::assessment
