// Dry runs: what would change, said before it does, and how it is taken back.
#include "engine/trial.h"

#include "engine/undo.h"
#include "engine/would.h"
#include "fed_site.h"

using namespace plainwater;
using namespace plainwater::engine;
using Catch::Matchers::Contains;
using feeding::Request;
using feeding::RequestKind;

namespace {

struct TriedSite : FedSite {
  TriedSite() { days(20); }

  Request made(RequestKind kind, std::function<void(Request&)> fill = [](Request&) {}) {
    Request request;
    request.id = "t" + std::to_string(++made_);
    request.who = "Ines";
    request.kind = kind;
    if (feeding::shape_of(kind).pump())
      request.pump = "line";
    else
      request.bench = "long";
    fill(request);
    return request;
  }
  /// The sentence of the dry run, which must be true, and change nothing.
  std::string would(const Request& request) {
    const std::string state = engine->snapshot();
    const Trial trial = try_out(*engine, *settings, request, now);
    CHECK(engine->snapshot() == state);
    CHECK_FALSE(engine->knows_answer(request));
    return words::in_english(trial.would);
  }
  /// Obeyed, and the way back.
  std::optional<Request> obeyed(const Request& request) {
    const Concerned before = concerned_by(request, *engine, *settings);
    REQUIRE(engine->take(request, now, out).done);
    return undo_of(request, before, concerned_by(request, *engine, *settings));
  }
  void taken_back(std::optional<Request> undo) {
    REQUIRE(undo);
    undo->id = "u" + std::to_string(++made_);
    undo->who = "Ines";
    const auto reply = engine->take(*undo, now, out);
    INFO(reply.text());
    CHECK(reply.done);
  }
  std::function<void(Request&)> until(int days) {
    return [this, days](Request& r) { r.until = now + days * kDay; };
  }

 private:
  int made_ = 0;
};

}  // namespace

TEST_CASE("a hold would give plain water, and is taken back to the same feed") {
  TriedSite site;
  const int percent = site.bench_of("long").strength_percent;
  REQUIRE(percent > 0);
  const Request hold = site.made(RequestKind::hold, site.until(10));
  CHECK(site.would(hold) == "long would get plain water until 31 October instead of " +
                                std::to_string(percent) + " %.");
  const auto undo = site.obeyed(hold);
  CHECK(site.bench_of("long").strength_percent == 0);
  CHECK(undo->kind == RequestKind::release);
  CHECK(undo->hold_id == hold.id);
  site.taken_back(undo);
  CHECK(site.bench_of("long").strength_percent == percent);
}

TEST_CASE("on an armed pump others are named that get less") {
  TriedSite site;
  site.arm();
  CHECK_THAT(
      site.would(site.made(RequestKind::hold, site.until(10))),
      Contains("Pump line would give long and mist plain water instead of") && Contains("mL/L"));
}

TEST_CASE("a longer end is compared with the former, and taken back") {
  TriedSite site;
  site.obeyed(site.made(RequestKind::hold, site.until(10)));
  const Instant end = site.bench_of("long").hold->planned_end;
  const Request extend = site.made(RequestKind::extend, site.until(20));
  CHECK(site.would(extend) ==
        "long would get plain water until 10 November instead of 31 October.");
  site.taken_back(site.obeyed(extend));
  CHECK(site.bench_of("long").hold->planned_end == end);
}

TEST_CASE("a shorter hold beside a longer one is kept, and only that is taken back") {
  TriedSite site;
  site.obeyed(site.made(RequestKind::hold, site.until(20)));
  const Request hold = site.made(RequestKind::hold, site.until(10));
  CHECK_THAT(site.would(hold), Contains("Nothing would change now") && Contains("10 November"));
  site.taken_back(site.obeyed(hold));
  CHECK(site.bench_of("long").holds_asked == 1);
  SECTION("one that ends with another is taken back alone") {
    const Request same = site.made(
        RequestKind::hold, [&](Request& r) { r.until = site.bench_of("long").hold->planned_end; });
    site.taken_back(site.obeyed(same));
    CHECK(site.bench_of("long").holds_asked == 1);
    CHECK(site.bench_of("long").hold);
  }
}

TEST_CASE("what begins or ends within two days is told with its hour") {
  TriedSite site;
  const Request hold = site.made(RequestKind::hold, site.until(1));
  CHECK_THAT(site.would(hold), Contains("until 22 October at "));
  const Request later = site.made(RequestKind::hold, site.until(3));
  CHECK_THAT(site.would(later), !Contains(" at "));
}

TEST_CASE("a move is taken back only if it was told soon after it") {
  TriedSite site;
  const auto move = [&](Span ago) {
    return site.made(RequestKind::move, [&](Request& r) {
      r.to = site.bench_of("long").place.position == Position::outdoors ? Position::indoors
                                                                        : Position::outdoors;
      r.from = site.now - ago;
    });
  };
  const auto undo_after = [&](Span ago) {
    const Request request = move(ago);
    Concerned before = concerned_by(request, *site.engine, *site.settings);
    before.benches[0].place.position = Position::indoors;
    Concerned after = before;
    after.benches[0].place.position = Position::outdoors;
    return undo_of(request, before, after);
  };
  CHECK(undo_after(minutes(30)));
  CHECK_FALSE(undo_after(kDay));
}

TEST_CASE("an absence is taken back by its id, and what replaced one has no way back") {
  TriedSite site;
  const Request absence = site.made(RequestKind::absence);
  Concerned none, first, second;
  first.absence = AbsenceNow{site.now, site.now + kDay, "tom", "Ines", true, true, 0, {}, "a-1"};
  second.absence = first.absence;
  second.absence->id = "a-2";
  const auto undo = undo_of(absence, none, first);
  REQUIRE(undo);
  CHECK(undo->kind == RequestKind::back);
  CHECK(undo->hold_id == "a-1");
  CHECK_FALSE(undo_of(absence, first, second));
}

TEST_CASE("an announced absence that is withdrawn has armed nothing less") {
  TriedSite site;
  const Request back = site.made(RequestKind::back);
  Concerned known, none;
  none.now = known.now = site.now;
  known.absence =
      AbsenceNow{site.now + 5 * kDay, site.now + 9 * kDay, "tom", "Ines", false, true, 0, {}, "a"};
  const auto said = [&] {
    return words::in_english(would_change(back, {true, "", {}}, known, none, *site.settings));
  };
  CHECK_THAT(said(), Contains("would not begin") && !Contains("armed"));
  known.absence->in_force = true;
  CHECK_THAT(said(), Contains("armed again"));
}

TEST_CASE("feed by hand in plain water, and a runoff of another unit, are questioned before") {
  TriedSite site;
  const auto watered = [&](double percent) {
    return site.would(site.made(RequestKind::watered, [&](Request& r) {
      r.litres = 5;
      r.strength_percent = percent;
    }));
  };
  CHECK_THAT(watered(50), !Contains("should have plain water"));
  site.obeyed(site.made(RequestKind::hold, site.until(10)));
  CHECK_THAT(watered(50), Contains("long should have plain water now"));
  CHECK_THAT(watered(0), !Contains("should have plain water"));
  const auto runoff = [&](double ec) {
    return site.would(site.made(RequestKind::runoff, [&](Request& r) { r.ec = ec; }));
  };
  CHECK_THAT(runoff(12), Contains("very high; is the figure in mS/cm?"));
}

TEST_CASE("an announced hold, its change and its withdrawal are told, and taken back") {
  TriedSite site;
  const auto from = [&](int days, int until, std::string instead = "") {
    return site.made(RequestKind::hold, [&](Request& r) {
      r.from = site.now + days * kDay;
      r.until = site.now + until * kDay;
      r.instead = instead;
    });
  };
  const Request announce = from(5, 10);
  CHECK(site.would(announce) ==
        "long would get plain water from 26 October until 31 October; nothing changes before "
        "that.");
  const auto undo = site.obeyed(announce);
  CHECK(undo->kind == RequestKind::withdraw);
  const Request change = from(6, 12, announce.id);
  CHECK_THAT(site.would(change), Contains("not from 26 October until 31 October as announced"));
  const auto back = site.obeyed(change);
  site.taken_back(back);
  REQUIRE(site.bench_of("long").announced.size() == 1);
  CHECK(site.bench_of("long").announced.front().from == *announce.from);
  const Request withdraw = site.made(RequestKind::withdraw, [&](Request& r) {
    r.hold_id = site.bench_of("long").announced.front().id;
  });
  CHECK_THAT(site.would(withdraw), Contains("would not get the plain water announced"));
  site.taken_back(site.obeyed(withdraw));
  CHECK(site.bench_of("long").announced.front().until == *announce.until);
}

TEST_CASE("an exemption is taken back to the one before, or to none") {
  TriedSite site;
  const Request first = site.made(RequestKind::exempt, site.until(10));
  CHECK_THAT(site.would(first), Contains("would place no hold on long"));
  const auto none = site.obeyed(first);
  const Request longer = site.made(RequestKind::exempt, site.until(30));
  const auto back = site.obeyed(longer);
  site.taken_back(back);
  CHECK(site.bench_of("long").exempt_until == *first.until);
  site.taken_back(none);
  CHECK(site.bench_of("long").exempt_until == kNever);
}

TEST_CASE("arming says what would flow where, and disarming is its way back") {
  TriedSite site;
  const Request arm = site.made(RequestKind::arm);
  CHECK_THAT(site.would(arm),
             Contains("Pump line would follow its orders: long and mist would get") &&
                 Contains("mL/L) at once"));
  site.taken_back(site.obeyed(arm));
  CHECK_FALSE(site.pump().armed);
  site.arm();
  const Request disarm = site.made(RequestKind::disarm);
  CHECK_THAT(site.would(disarm), Contains("would give plain water and only show its orders"));
  CHECK_FALSE(site.obeyed(disarm));
}

TEST_CASE("what was given or measured shows in the salts, a note in nothing") {
  TriedSite site;
  CHECK_THAT(site.would(site.made(RequestKind::runoff, [](Request& r) { r.ec = 1.8; })),
             Contains("salts of long would be estimated at EC"));
  const Request note = site.made(RequestKind::note, [](Request& r) { r.note = "repotted"; });
  CHECK(site.would(note) == "A line would be written into the ledger; nothing else changes.");
  CHECK_FALSE(site.obeyed(note));
}

TEST_CASE("a refusal would change nothing, and says why") {
  TriedSite site;
  const Request release = site.made(RequestKind::release);
  const Trial trial = try_out(*site.engine, *site.settings, release, site.now);
  CHECK_FALSE(trial.reply.done);
  CHECK(trial.reply.problem == "nothing-to-release");
  CHECK_THAT(words::in_english(trial.would), Contains("Nothing would change: no hold is in force"));
}

TEST_CASE("what was answered already would change nothing") {
  TriedSite site;
  const Request hold = site.made(RequestKind::hold, site.until(10));
  site.obeyed(hold);
  const Trial trial = try_out(*site.engine, *site.settings, hold, site.now);
  CHECK(trial.reply.done);
  CHECK_THAT(words::in_english(trial.would), Contains("answered already"));
}

TEST_CASE("a copy of an engine has the same bytes, and goes its own way") {
  TriedSite site;
  Engine copy = site.engine->copy();
  CHECK(copy.snapshot() == site.engine->snapshot());
  Outcome out;
  copy.take(site.made(RequestKind::hold), site.now, out);
  CHECK(copy.snapshot() != site.engine->snapshot());
}
