#include <gtest/gtest.h>

#include "ohmward/readings/parse.hpp"
#include "ohmward/readings/timed_series.hpp"

namespace ohmward::readings {
namespace {

using Rows = std::vector<std::size_t>;

TEST(TimedSeries, StepWinsOverElapsedOverClockOverLine) {
  const Parsed parsed = parse(
      "object_id,part,quantity,value,unit,taken_at,instrument_id,run_id,step,elapsed_second\n"
      "P1,m,insulation_resistance,1,MΩ,2025-03-04T08:05,i,a,2,15\n"
      "P1,m,insulation_resistance,1,MΩ,2025-03-04T08:06,i,a,1,30\n"
      "P1,m,insulation_resistance,1,MΩ,2025-03-04T08:07,i,,1,30\n"
      "P2,m,insulation_resistance,1,MΩ,2025-03-04T08:09,i,a,,60\n"
      "P2,m,insulation_resistance,1,MΩ,2025-03-04T08:08,i,a,,15\n"
      "P3,m,insulation_resistance,1,MΩ,2025-03-04,i,a,,\n"
      "P3,m,insulation_resistance,1,MΩ,2025-03-04T08:09,i,a,,\n"
      "P3,m,insulation_resistance,1,MΩ,2025-03-04T08:08,i,a,,\n"
      "P3,m,insulation_resistance,1,MΩ,2025-03-04,i,a,,\n");
  ASSERT_EQ(parsed.table.rows(), 9U);
  const auto series = timed_series(parsed.table);
  ASSERT_EQ(series.size(), 3U);
  EXPECT_EQ(series[0].object_id, "P1");
  EXPECT_EQ(series[0].run_id, "a");
  EXPECT_EQ(series[0].rows, (Rows{1, 0}));
  EXPECT_EQ(series[1].rows, (Rows{4, 3}));
  EXPECT_EQ(series[2].rows, (Rows{7, 6, 5, 8}));
}

TEST(TimedSeries, NoRunIdNoSeries) { EXPECT_TRUE(timed_series(Table{}).empty()); }

}  // namespace
}  // namespace ohmward::readings
