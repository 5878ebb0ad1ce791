// Times as people type them, by the clocks of the site.
#include "asking/when.h"

#include <catch2/catch.hpp>

using namespace plainwater;
using namespace plainwater::asking;
using Catch::Matchers::Contains;

namespace {

Instant at(const char* text) { return parse_rfc3339(text).value(); }
outlet::LocalTime zone(const char* name = "Europe/London") {
  return outlet::LocalTime::of(name).value();
}
/// A Tuesday in winter time, 18:36 at the site.
const Instant kNow = at("2026-12-01T18:36:00Z");

std::string moment(const char* text, Sense sense, Instant now = kNow,
                   const outlet::LocalTime& site = zone()) {
  const auto when = read_when(text, now, site, sense);
  return when ? format_rfc3339(when->at) : "error: " + when.error().message();
}
std::string past(const char* text, Instant now = kNow) { return moment(text, Sense::past, now); }
std::string coming(const char* text, Instant now = kNow) {
  return moment(text, Sense::coming, now);
}

}  // namespace

TEST_CASE(
    "a time of day is the last one of what has happened, and the next one of what is to come") {
  CHECK(past("18:30") == "2026-12-01T18:30:00Z");
  CHECK(past("18:36") == "2026-12-01T18:36:00Z");
  CHECK(past("18:37") == "2026-11-30T18:37:00Z");
  CHECK(coming("18:30") == "2026-12-02T18:30:00Z");
  CHECK(coming("18:36") == "2026-12-02T18:36:00Z");
  CHECK(coming("18:37") == "2026-12-01T18:37:00Z");
  CHECK(past("8:05") == "2026-12-01T08:05:00Z");
  CHECK(past("18:30:15") == "2026-12-01T18:30:15Z");
  CHECK(past("now") == "2026-12-01T18:36:00Z");
}

TEST_CASE("weekdays and spans are counted from now") {
  CHECK(coming("friday") == "2026-12-04T00:00:00Z");
  CHECK(coming("Fri 18:30") == "2026-12-04T18:30:00Z");
  CHECK(coming("tuesday") == "2026-12-08T00:00:00Z");  // this one has begun
  CHECK(past("tue 08:00") == "2026-12-01T08:00:00Z");
  CHECK(past("sunday") == "2026-11-29T00:00:00Z");
  CHECK(coming("in 2 weeks") == "2026-12-15T18:36:00Z");
  CHECK(coming("12h") == "2026-12-02T06:36:00Z");
  CHECK(coming("12 h") == "2026-12-02T06:36:00Z");
  CHECK(past("3 hours ago") == "2026-12-01T15:36:00Z");
  CHECK_THAT(past("3 hours"), Contains("has not come yet") && Contains("write \"ago\""));
  CHECK_THAT(coming("3 hours ago"), Contains("is over"));
  CHECK_THAT(coming("60 weeks"), Contains("more than a year away"));
  CHECK(coming("18.30") == "2026-12-02T18:30:00Z");
  CHECK(past("8.45") == "2026-12-01T08:45:00Z");
}

TEST_CASE("days are those of the site, by its clocks") {
  const Instant summer = at("2026-07-01T23:30:00Z");  // 00:30 on 2 July in London
  CHECK(past("today", summer) == "2026-07-01T23:00:00Z");
  CHECK(past("yesterday 18:30", summer) == "2026-07-01T17:30:00Z");
  CHECK(past("18:30 yesterday", summer) == "2026-07-01T17:30:00Z");
  CHECK(coming("tomorrow", summer) == "2026-07-02T23:00:00Z");
  CHECK(coming("Today 06:00", summer) == "2026-07-02T05:00:00Z");
  CHECK(moment("18:30", Sense::past, summer, zone("America/Los_Angeles")) ==
        "2026-07-01T01:30:00Z");
  CHECK(moment("18:30", Sense::past, summer, zone("UTC")) == "2026-07-01T18:30:00Z");
}

TEST_CASE("dates can be written in the ways that people write them") {
  for (const char* text : {"2026-11-12 18:30", "2026-11-12T18:30", "18:30 2026-11-12",
                           "12 Nov 18:30", "12 november 2026, 18:30", "Nov 12 18:30",
                           "12th Nov 2026 18:30", "12. Nov. 18:30", "November 12, 2026 18:30"}) {
    INFO(text);
    CHECK(past(text) == "2026-11-12T18:30:00Z");
  }
  CHECK(past("2026-11-12") == "2026-11-12T00:00:00Z");
  CHECK(coming("2027-06-12") == "2027-06-11T23:00:00Z");  // summer time
  CHECK(past("13.11.2026") == "2026-11-13T00:00:00Z");
  CHECK(past("13/11 18:30") == "2026-11-13T18:30:00Z");
  CHECK(past("11/13/2026") == "2026-11-13T00:00:00Z");
  CHECK(past("11.11.") == "2026-11-11T00:00:00Z");
  CHECK(past("10 Sept") == "2026-09-09T23:00:00Z");
}

TEST_CASE("an order of day and month that could be either is asked about") {
  CHECK_THAT(past("12.10.2026"), Contains("12.10.2026 can be read in two ways") &&
                                     Contains("did you mean 2026-10-12 or 2026-12-10?"));
  CHECK_THAT(past("12/10"), Contains("did you mean \"12 Oct\" or \"10 Dec\"?"));
}

TEST_CASE("a date without a year is the last or the next of that name") {
  CHECK(past("12 Dec") == "2025-12-12T00:00:00Z");
  CHECK(coming("12 Nov") == "2027-11-12T00:00:00Z");
  CHECK(coming("12 Dec") == "2026-12-12T00:00:00Z");
  CHECK(coming("1 Dec") == "2026-12-01T00:00:00Z");  // today
  CHECK(coming("1 Dec 12:00") == "2027-12-01T12:00:00Z");
  CHECK(past("31 Dec", at("2027-01-01T00:10:00Z")) == "2026-12-31T00:00:00Z");
  CHECK(past("23:50", at("2027-01-01T00:10:00Z")) == "2026-12-31T23:50:00Z");
  CHECK(coming("0:10", at("2026-12-31T23:50:00Z")) == "2027-01-01T00:10:00Z");
  CHECK(coming("29 Feb", at("2027-12-01T12:00:00Z")) == "2028-02-29T00:00:00Z");
  CHECK_THAT(coming("29 Feb"), Contains("is in no year near this one"));
}

TEST_CASE("a wrong year is told with the right one") {
  CHECK_THAT(coming("2025-12-12"), Contains("is over; did you mean 2026-12-12?"));
  CHECK_THAT(coming("2020-12-12"), Contains("more than a year away; did you mean 2026-12-12?"));
  CHECK_THAT(coming("2062-12-12"), Contains("more than a year away; did you mean 2026-12-12?"));
  CHECK_THAT(coming("2028-01-10 08:00"), Contains("did you mean 2027-01-10 08:00?"));
  CHECK_THAT(past("2027-11-30"), Contains("has not come yet; did you mean 2026-11-30?"));
  CHECK_THAT(past("2024-11-30"), Contains("more than a year away; did you mean 2026-11-30?"));
  CHECK_THAT(past("tomorrow"), Contains("has not come yet; give a time that is past"));
  CHECK_THAT(coming("yesterday"), Contains("is over; give a later time"));
}

TEST_CASE("an RFC 3339 time is taken as it is") {
  const auto when = read_when("2031-10-12T18:30:00+02:00", kNow, zone(), Sense::past);
  REQUIRE(when);
  CHECK(when->exact);
  CHECK(format_rfc3339(when->at) == "2031-10-12T16:30:00Z");
  CHECK(when->said == "Sun 12 Oct 2031 17:30");
}

TEST_CASE("what is no time is an error that says how to write one") {
  for (const char* text :
       {"",           "soon",       "25:00",     "18:3",       "18:60",       "18:30 18:31",
        "2026-13-01", "2026-02-30", "31 Nov",    "32.10.2026", "12.10.26",    "12 Okt 2026 x",
        "12 Oct 26",  "Oct",        "1e3",       "-1",         "99999-01-01", "today 2026-10-12",
        "now 18:30",  "13.13.2026", "0.10.2026", "18:30:15.5", "\xff\xfe:00"}) {
    INFO(text);
    CHECK_THAT(past(text), Contains("error: ") && Contains("write a date like 2026-10-12"));
  }
  CHECK_THAT(past(std::string(5000, '1').c_str()), Contains("is not understood"));
}

TEST_CASE("of an hour that the clocks show twice the first is taken, and that is told") {
  const Instant later = at("2026-10-25T12:00:00Z");
  const auto when = read_when("01:30", later, zone(), Sense::past);
  REQUIRE(when);
  CHECK(format_rfc3339(when->at) == "2026-10-25T00:30:00Z");
  CHECK(when->note ==
        "the clocks show Sun 25 Oct 2026 01:30 twice: the first is taken; for the "
        "other write 2026-10-25T01:30:00Z");
  CHECK(coming("2026-10-25 01:30", at("2026-10-24T12:00:00Z")) == "2026-10-25T00:30:00Z");
  const auto between = read_when("01:30", at("2026-10-25T00:45:00Z"), zone(), Sense::coming);
  REQUIRE(between);
  CHECK(format_rfc3339(between->at) == "2026-10-25T01:30:00Z");
  CHECK_THAT(between->note, Contains("the second is taken; for the other write 2026-10-25T00:30"));
  CHECK(past("00:59", later) == "2026-10-24T23:59:00Z");
  CHECK(past("02:00", later) == "2026-10-25T02:00:00Z");
}

TEST_CASE("a time that the clocks skip is the moment of the change, and that is told") {
  const Instant later = at("2027-03-28T12:00:00Z");
  const auto when = read_when("01:30", later, zone(), Sense::past);
  REQUIRE(when);
  CHECK(format_rfc3339(when->at) == "2027-03-28T01:00:00Z");
  CHECK(when->said == "Sun 28 Mar 2027 02:00");
  CHECK(when->note == "the clocks skip Sun 28 Mar 2027 01:30, to Sun 28 Mar 2027 02:00");
  CHECK(past("00:59", later) == "2027-03-28T00:59:00Z");
  CHECK(past("02:00", later) == "2027-03-28T01:00:00Z");
  // Midnight itself is skipped in Beirut.
  const auto midnight =
      read_when("2026-03-29", at("2026-03-20T12:00:00Z"), zone("Asia/Beirut"), Sense::coming);
  REQUIRE(midnight);
  CHECK(midnight->said == "Sun 29 Mar 2026 01:00");
  CHECK_FALSE(midnight->note.empty());
}

TEST_CASE("what was understood is said with its weekday, by the site's clocks") {
  const auto when = read_when("12 Oct 18:30", kNow, zone(), Sense::past);
  REQUIRE(when);
  CHECK_FALSE(when->exact);
  CHECK(when->said == "Mon 12 Oct 2026 18:30");
  CHECK(when->note.empty());
}
