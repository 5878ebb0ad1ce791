// Compares what one pump says it gave with what was ordered at that time.
//
// A pump that was out of reach rightly follows its last order until that expires: people hear of
// it, but as long as it says which order it followed, it does not count as disobedient. People hear
// of a disobedient pump at its first such report. After several within a fortnight it is no longer
// trusted: its benches then get plain water until a person has looked and says `trust`.
#pragma once

#include <cstdint>
#include <map>
#include <vector>

#include "feeding/decision.h"
#include "feeding/dose.h"
#include "feeding/pump_counters.h"

namespace plainwater::feeding {

/// What a pump may give from a moment on.
struct PumpCommand {
  Instant from{};
  std::int32_t percent = 0;  ///< of full; 0: plain water
  bool armed = false;        ///< false: advice to a person
  template <class A>
  void fields(A& a) {
    a(from);
    a(percent);
    a(armed);
  }
};

/// Something to tell people about a report.
struct PumpFinding {
  Cause cause = Cause::none;
  Evidence evidence;
  words::Sentence said;
  std::string text() const { return words::in_english(said); }
};

/// What is known about a pump when its report is judged.
struct PumpContext {
  const Pump* pump = nullptr;
  std::optional<FullStrength> full;  ///< none without a recipe
  std::optional<double> water_ec;    ///< none without a water
  DoseLimits limits;
  std::int64_t local_day = 0;  ///< the report's day on the site's clocks, days since 1970
  Span order_valid = hours(26);
  double flush_l = 0;  ///< litres of advised flushes, which do not count towards the water cap
};

struct DoseJudged {
  Given given;
  double ec;  ///< mS/cm at 25 °C of what went out: measured, else expected; NaN unknown
  std::vector<PumpFinding> findings;
  bool lost_trust = false;
};

class PumpWatch {
 public:
  /// What the pump may give has changed. Repeating the same command does nothing. Until `line_l`
  /// litres have passed, the line may still hold the earlier strength or, for a pump that was on
  /// advice, anything up to it.
  void command(const PumpCommand& command, double line_l);
  bool seen(const DoseReport& report) const { return counters_.seen(report); }
  /// Whether the orders at the report's time are still known.
  bool too_old(const DoseReport& report, Instant now) const {
    return report.time < now - kReportsKept || commands_.empty() ||
           report.time < commands_.front().from;
  }
  DoseJudged take(const DoseReport& report, Instant now, const PumpContext& context);

  bool trusted() const { return trusted_; }
  /// A person has looked after the pump; what it did before no longer counts.
  void trust(Instant t);
  /// The last report's arrival; kNever before the first.
  Instant last_report() const { return last_report_; }

  template <class A>
  void fields(A& a) {
    a(commands_);
    a(counters_);
    a.by_day(days_);
    a(episodes_);
    a(disobeyed_);
    a(trusted_);
    a(last_report_);
    a(looked_after_);
    a(metered_);
    a(passed_l_);
    a(line_least_);
    a(line_most_);
  }

 private:
  /// What the pump was allowed to give over a stretch of time.
  struct Allowed {
    int least = 0, most = 0;  ///< percent of full
    bool armed = false;       ///< throughout
  };
  struct Day {
    double litres = 0, feed_ml = 0;
    bool water_told = false, feed_told = false;
    template <class A>
    void fields(A& a) {
      a(litres);
      a(feed_ml);
      a(water_told);
      a(feed_told);
    }
  };
  struct Episode {
    Instant told{};
    std::uint32_t unsaid = 0;
    std::uint8_t found_by = 0;  ///< channels; only one of these can end the episode
    template <class A>
    void fields(A& a) {
      a(told);
      a(unsaid);
      a(found_by);
    }
  };

  Allowed in_force(Instant from, Instant to) const;
  /// Whether what the pump gave fits a replaced order that had not expired: the newer order may not
  /// have reached the pump.
  bool followed_replaced_order(const DoseReport& report, const Given& given,
                               const PumpContext& context) const;
  /// Tells of an episode at its start and once a day while it lasts; in between it only counts.
  void tell(PumpFinding finding, std::uint8_t found_by, Instant now, DoseJudged& judged);
  void judge_day(const PumpContext& context, bool armed, DoseJudged& judged);
  void note_disobedience(const PumpContext& context, DoseJudged& judged);

  std::vector<PumpCommand> commands_;  ///< by time
  PumpCounters counters_;
  std::map<std::int64_t, Day> days_;          ///< by local day
  std::map<std::uint8_t, Episode> episodes_;  ///< by cause
  std::vector<Instant> disobeyed_;            ///< within the last fortnight
  bool trusted_ = true;
  Instant last_report_{kNever};
  Instant looked_after_{kNever};                 ///< by a person
  bool metered_ = false;                         ///< some report has included litres
  double passed_l_ = 1e9;                        ///< water since the last change of command, L
  std::int32_t line_least_ = 0, line_most_ = 0;  ///< what the line may still hold
};

}  // namespace plainwater::feeding
