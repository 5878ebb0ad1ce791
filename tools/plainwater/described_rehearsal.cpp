#include "plainwater/described_rehearsal.h"

#include <algorithm>

#include "plainwater/readings_files.h"

namespace plainwater::tool {

Result<RehearsalSummary> rehearse_described(Rehearsal& rehearsal,
                                            const std::shared_ptr<const Settings>& settings,
                                            const std::string& path, const CsvForm& form,
                                            const Rehearsal::Sink& sink, const Rehearsal::Say& say,
                                            const Rehearsal::Shown& progress) {
  auto staged = StagedReadings::open();
  if (!staged) return staged.error();
  ReadingsFiles files(settings, **staged, {}, true);
  const auto read = files.take(path, form, say, [&](double share) {
    progress(share / 2);
    return true;
  });
  if (!read) return read.error();
  auto done = rehearsal.run(**staged, sink, [&](double share) { progress(0.5 + share / 2); });
  if (!done) return done.error();
  done->bad_rows = files.refused();
  for (const auto& [name, unknown] : files.unknown())
    done->unknown_sensors.push_back({unknown.line, name});
  std::ranges::sort(done->unknown_sensors, {}, &RemarkedLine::line);
  return done;
}

}  // namespace plainwater::tool
