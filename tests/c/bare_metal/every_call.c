/* Every call of the embedded part, or those of one group (-DONLY_absorption_log ...), kept: what a logger's image grows
 * by. Not run. */

#include "ohmward_c/embedded.h"

/* clang-format off */
#if !defined(ONLY_library) && !defined(ONLY_absorption_log) && !defined(ONLY_resting_voltage_log) && !defined(ONLY_link_discharge_log) && !defined(ONLY_bonding_log) && !defined(ONLY_running_mean) && !defined(ONLY_accuracy_sheet)
#define ONLY_library
#define ONLY_absorption_log
#define ONLY_resting_voltage_log
#define ONLY_link_discharge_log
#define ONLY_bonding_log
#define ONLY_running_mean
#define ONLY_accuracy_sheet
#endif

typedef void (*any_call)(void);
#define KEEP(call) (any_call) call,

any_call const every_call[] = {
#ifdef ONLY_library
    KEEP(owd_version)
    KEEP(owd_abi_version)
    KEEP(owd_error_text)
    KEEP(owd_status_text)
    KEEP(owd_finding_text)
    KEEP(owd_self_test)
#endif
#ifdef ONLY_absorption_log
    KEEP(owd_absorption_log_init)
    KEEP(owd_absorption_log_check)
    KEEP(owd_absorption_log_reset)
    KEEP(owd_absorption_log_push)
    KEEP(owd_absorption_log_marks)
    KEEP(owd_absorption_log_ratio)
    KEEP(owd_absorption_log_early)
    KEEP(owd_absorption_log_late)
    KEEP(owd_absorption_log_latest)
    KEEP(owd_absorption_log_settling)
    KEEP(owd_absorption_log_charging)
    KEEP(owd_absorption_log_contact)
    KEEP(owd_absorption_log_forecast)
    KEEP(owd_forecast_library_begin)
    KEEP(owd_forecast_library_fill)
    KEEP(owd_absorption_log_counts)
    KEEP(owd_absorption_log_save)
    KEEP(owd_absorption_log_resume)
#endif
#ifdef ONLY_resting_voltage_log
    KEEP(owd_resting_voltage_log_init)
    KEEP(owd_resting_voltage_log_check)
    KEEP(owd_resting_voltage_log_reset)
    KEEP(owd_resting_voltage_log_push)
    KEEP(owd_resting_voltage_log_state)
    KEEP(owd_resting_voltage_log_counts)
    KEEP(owd_resting_voltage_log_save)
    KEEP(owd_resting_voltage_log_resume)
#endif
#ifdef ONLY_link_discharge_log
    KEEP(owd_link_discharge_log_init)
    KEEP(owd_link_discharge_log_check)
    KEEP(owd_link_discharge_log_reset)
    KEEP(owd_link_discharge_log_push)
    KEEP(owd_link_discharge_log_state)
    KEEP(owd_link_discharge_log_counts)
    KEEP(owd_link_discharge_log_save)
    KEEP(owd_link_discharge_log_resume)
#endif
#ifdef ONLY_bonding_log
    KEEP(owd_bonding_log_init)
    KEEP(owd_bonding_log_check)
    KEEP(owd_bonding_log_reset)
    KEEP(owd_bonding_log_forget_null)
    KEEP(owd_bonding_log_push_null)
    KEEP(owd_bonding_log_next_joint)
    KEEP(owd_bonding_log_push)
    KEEP(owd_bonding_log_joint)
    KEEP(owd_bonding_log_counts)
    KEEP(owd_bonding_log_save)
    KEEP(owd_bonding_log_resume)
#endif
#ifdef ONLY_running_mean
    KEEP(owd_running_mean_init)
    KEEP(owd_running_mean_check)
    KEEP(owd_running_mean_reset)
    KEEP(owd_running_mean_push)
    KEEP(owd_running_mean_merge)
    KEEP(owd_running_mean_state)
    KEEP(owd_running_mean_counts)
    KEEP(owd_running_mean_save)
    KEEP(owd_running_mean_resume)
#endif
#ifdef ONLY_accuracy_sheet
    KEEP(owd_accuracy_sheet_check)
    KEEP(owd_accuracy_sheet_at)
    KEEP(owd_accuracy_sheet_find)
    KEEP(owd_accuracy_sheet_ceiling)
#endif
};

int main(void) {
  any_call const volatile* last = &every_call[sizeof every_call / sizeof every_call[0] - 1];
  return *last == 0;
}
