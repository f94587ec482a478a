#include <gtest/gtest.h>

#include <chrono>
#include <cstdio>

#include "ohmward/readings/moment_text.hpp"

namespace ohmward::readings {
namespace {

std::int64_t second(std::string_view text, std::string_view format = {}) {
  const Checked<Moment> read = parse_moment(text, format);
  EXPECT_TRUE(read.has_value()) << text;
  return read.value.second;
}

TEST(MomentText, ReadsIso8601) {
  EXPECT_EQ(second("1970-01-01"), 0);
  EXPECT_EQ(second("2025-03-04"), 1741046400);
  EXPECT_EQ(second("20250304"), 1741046400);
  EXPECT_EQ(second("2025-03-04T08:15"), 1741046400 + 8 * 3600 + 15 * 60);
  EXPECT_EQ(second("2025-03-04 08:15:30.75"), 1741046400 + 8 * 3600 + 15 * 60 + 30);
  EXPECT_EQ(second("2025-03-04T08:15:30Z"), 1741046400 + 8 * 3600 + 15 * 60 + 30);
  EXPECT_EQ(second("2025-03-04T08:15+01:00"), 1741046400 + 7 * 3600 + 15 * 60);
  EXPECT_EQ(second("20250304T081530-0530"), 1741046400 + 13 * 3600 + 45 * 60 + 30);
}

TEST(MomentText, TellsDateTimeAndOffset) {
  EXPECT_FALSE(parse_moment("2025-03-04").value.has_time);
  EXPECT_TRUE(parse_moment("2025-03-04T00:00").value.has_time);
  EXPECT_FALSE(parse_moment("2025-03-04T00:00").value.has_offset);
  EXPECT_TRUE(parse_moment("2025-03-04T00:00+00").value.has_offset);
}

TEST(MomentText, ReadsOtherFormsOnlyAsTold) {
  EXPECT_EQ(second("04.03.2025", "%d.%m.%Y"), 1741046400);
  EXPECT_EQ(second("4.3.25 8:15", "%d.%m.%y %H:%M"), 1741046400 + 8 * 3600 + 15 * 60);
  EXPECT_EQ(second("03/04/2025 08:15:30 +0100", "%m/%d/%Y %H:%M:%S %z"), 1741046400 + 7 * 3600 + 15 * 60 + 30);
  EXPECT_FALSE(parse_moment("04.03.2025").has_value());
  EXPECT_FALSE(parse_moment("2025-03-04", "%d.%m.%Y").has_value());
  EXPECT_FALSE(parse_moment("04.03.2025 08:15", "%d.%m.%Y").has_value());
}

TEST(MomentText, RefusesWhatNoCalendarHas) {
  for (const char* const text : {"2025-02-29", "1900-02-29", "2025-13-01", "2025-00-10", "2025-04-31", "0000-01-01",
                                 "2025-3-4", "2025-03-04T24:00", "2025-03-04T08:60", "2025-03-04T08",
                                 "2025-03-04T08:15+1", "2025-03-04x", "2025-0304", "yesterday"})
    EXPECT_EQ(parse_moment(text).status, Status::unreadable_text) << text;
  EXPECT_EQ(parse_moment(" ").status, Status::missing_input);
  EXPECT_TRUE(parse_moment("2000-02-29").has_value());
}

// Second route: the standard library's calendar.
TEST(MomentText, EveryDayOfEightCenturiesAgreesWithTheStandardCalendar) {
  using namespace std::chrono;
  for (sys_days day = year{1600} / 1 / 1; day < sys_days{year{2400} / 1 / 1}; day += days{1}) {
    const year_month_day date{day};
    char text[16];
    std::snprintf(text, sizeof text, "%04d-%02u-%02u", static_cast<int>(date.year()),
                  static_cast<unsigned>(date.month()) % 100U, static_cast<unsigned>(date.day()) % 100U);
    ASSERT_EQ(second(text), duration_cast<seconds>(day.time_since_epoch()).count()) << text;
  }
}

TEST(MomentText, AFormatNamesDayMonthAndYear) {
  EXPECT_TRUE(is_moment_format("%d.%m.%Y"));
  EXPECT_FALSE(is_moment_format("%d.%m"));
  EXPECT_FALSE(is_moment_format("%d.%m.%Y %q"));
  EXPECT_FALSE(is_moment_format("%d.%m.%Y%"));
}

}  // namespace
}  // namespace ohmward::readings
