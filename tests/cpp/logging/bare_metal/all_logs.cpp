// Every call of every log, kept: what a logger's image grows by. Not run.

#include "ohmward/logging/absorption_log.hpp"
#include "ohmward/logging/accuracy_sheet.hpp"
#include "ohmward/logging/bonding_log.hpp"
#include "ohmward/logging/link_discharge_log.hpp"
#include "ohmward/logging/resting_voltage_log.hpp"
#include "ohmward/logging/running_mean.hpp"

using namespace ohmward;
using namespace ohmward::logging;

namespace {

// What comes from outside and goes there: nothing may be left out or worked out beforehand.
struct {
  AbsorptionConfig absorption_config;
  RestingVoltageConfig resting_config;
  LinkDischargeConfig link_config;
  BondingConfig bonding_config;
  RunningMeanConfig mean_config;
  Sample sample;
  VoltageSample voltage;
  JointSample joint;
  double number;
} volatile in_memory;
volatile double out;
std::uint8_t record[greatest_record];
ForecastMemory memory;
ForecastLibrary library;
AbsorptionLog absorption;
RestingVoltageLog resting;
LinkDischargeLog link_log;
BondingLog bonding;
RunningMean mean, other;
AccuracyLine lines[80];
double volts[5];

template <class T>
T taken(const volatile T& from) {
  T value;
  auto* to = reinterpret_cast<unsigned char*>(&value);
  const auto* bytes = reinterpret_cast<const volatile unsigned char*>(&from);
  for (std::size_t i = 0; i < sizeof value; ++i) to[i] = bytes[i];
  return value;
}

template <class Log, class Config>
void keep(Log& log, const Config& config) {
  out = log.init(config).given;
  out = static_cast<double>(log.save(record, sizeof record));
  out = static_cast<double>(log.resume(record, sizeof record, Resume::cut));
  out = log.counts().taken;
}

}  // namespace

int main() {
  keep(absorption, taken(in_memory.absorption_config));
  out = static_cast<double>(absorption.push(taken(in_memory.sample)));
  out = absorption.ratio().value;
  out = absorption.early().value;
  out = absorption.late().value;
  out = absorption.latest().value;
  out = absorption.settling().slope;
  out = absorption.charging().low_farad;
  out = static_cast<double>(absorption.contact());
  absorption.begin_library(library, memory);
  out = library.fill(memory.grid, absorption.forecast_target(), 16) ? 1 : 0;
  out = absorption.forecast(in_memory.number, memory, &library).low;
  keep(resting, taken(in_memory.resting_config));
  out = static_cast<double>(resting.push(taken(in_memory.voltage)));
  out = resting.state().change_volt;
  keep(link_log, taken(in_memory.link_config));
  out = static_cast<double>(link_log.push(taken(in_memory.voltage)));
  out = link_log.state().threshold_second;
  keep(bonding, taken(in_memory.bonding_config));
  out = static_cast<double>(bonding.push_null(taken(in_memory.joint)));
  out = static_cast<double>(bonding.push(taken(in_memory.joint)));
  out = bonding.joint().resistance_ohm;
  bonding.next_joint();
  keep(mean, taken(in_memory.mean_config));
  out = static_cast<double>(mean.push(in_memory.number));
  out = static_cast<double>(mean.merge(other));
  out = mean.state().standard_uncertainty;
  const AccuracySheet sheet{.lines = lines, .test_voltages_volt = volts, .ranges = 16, .voltages = 5};
  out = check(sheet).given;
  out = sheet.find(in_memory.number, in_memory.number).standard_uncertainty;
  return 0;
}
