// Runs the engine over recorded readings, with growers' requests and pump reports at their times,
// as the daemon would have.
#pragma once

#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "engine/engine.h"
#include "feeding/request.h"
#include "outlet/dose_report.h"
#include "plainwater/readings_csv.h"
#include "plainwater/staged_readings.h"

namespace plainwater::tool {

struct TimedRequest {
  Instant time{};
  feeding::Request request;
  std::uint64_t line = 0;  ///< in its file, from 1
};
/// A line of a file, with a remark about it.
struct RemarkedLine {
  std::uint64_t line = 0;
  std::string text;
};

struct RehearsalSummary {
  std::uint64_t rows = 0, bad_rows = 0, unused_rows = 0;
  std::vector<RemarkedLine>
      unknown_sensors;  ///< in no bench and no reference; line of the first reading
  std::uint64_t refused_requests = 0;
  std::vector<RemarkedLine>
      undone;  ///< requests that were refused or come too late, with the reason
  std::uint64_t more_undone = 0;
  std::uint64_t unused_doses = 0;
  Instant first{kForever}, last{kNever};
};

class Rehearsal {
 public:
  /// Lines of each kind that are reported; the rest are counted.
  static constexpr std::uint64_t kMostReported = 20;

  using Sink = std::function<void(const engine::Outcome&)>;
  using Say = std::function<void(const std::string&)>;
  using Shown = std::function<void(double)>;  ///< the share done

  /// Requests and doses in order of time.
  Rehearsal(std::shared_ptr<const Settings> settings, std::vector<TimedRequest> requests,
            std::vector<outlet::TimedDose> doses)
      : settings_(std::move(settings)), requests_(std::move(requests)), doses_(std::move(doses)) {}

  /// Reads the whole file; `sink` gets the decisions, in order. If the file turns out to be grouped
  /// by sensor, `start_over` is called and reading begins again with one cursor per sensor.
  Result<RehearsalSummary> run(const std::string& path, const Sink& sink,
                               const std::function<void()>& start_over, const Say& say,
                               const Shown& progress);
  /// The same for readings that have been put in order; `unknown_sensors` stays empty.
  Result<RehearsalSummary> run(StagedReadings& staged, const Sink& sink, const Shown& progress);

 private:
  struct Fold;
  using Report = std::function<void(std::uint64_t line, const std::string& why)>;
  static Result<bool> in_order(ReadingsCsv& csv, Fold& fold, const Report& report,
                               const Shown& progress);
  /// What comes after the last reading; counts what came too late.
  void end(Fold& fold) const;
  static Status grouped(const std::string& path, Fold& fold, const Report& report,
                        const Shown& progress);

  std::shared_ptr<const Settings> settings_;
  std::vector<TimedRequest> requests_;
  std::vector<outlet::TimedDose> doses_;
};

/// One `{"time": …, …request…}` per line; see config/schemas/request.json. Reports all errors with
/// file and line.
Result<std::vector<TimedRequest>> read_requests(const std::string& path);
/// Lines as `plainwater export --doses` writes them. Reports all errors with file and line.
Result<std::vector<outlet::TimedDose>> read_doses(const std::string& path);

}  // namespace plainwater::tool
