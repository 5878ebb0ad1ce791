// plainwater export: writes a store's content in the formats of the rehearsal.
#include <array>
#include <cerrno>
#include <cstdio>
#include <cstring>
#include <functional>
#include <limits>
#include <memory>
#include <optional>

#include "common/hex.h"
#include "common/json_text.h"
#include "common/position.h"
#include "common/utf8.h"
#include "outlet/dose_report.h"
#include "outlet/requests.h"
#include "plainwater/commands.h"
#include "plainwater/house.h"
#include "plainwater/progress.h"
#include "replay/ledger_reader.h"
#include "store/journal_reads.h"
#include "store/store.h"

namespace plainwater::tool {
namespace {

/// A file being written; "-" is standard output. Failures are reported once, at the end.
class Output {
 public:
  explicit Output(const std::string& path)
      : path_(path), file_(path == "-" ? stdout : std::fopen(path.c_str(), "wb")) {
    if (file_ == nullptr) failure_ = std::strerror(errno);
  }
  ~Output() {
    if (file_ != nullptr && file_ != stdout)
      std::fclose(file_);  // abandoned: the caller reports why
  }
  Output(const Output&) = delete;
  Output& operator=(const Output&) = delete;

  bool write(const std::string& text) {
    if (file_ != nullptr && std::fwrite(text.data(), 1, text.size(), file_) != text.size() &&
        failure_.empty())
      failure_ = std::strerror(errno);
    return failure_.empty();
  }
  Status finish() {
    if (file_ != nullptr && (file_ == stdout ? std::fflush(file_) : std::fclose(file_)) != 0 &&
        failure_.empty())
      failure_ = std::strerror(errno);
    file_ = nullptr;
    if (failure_.empty()) return Done{};
    return Error{"cannot be written: " + failure_, path_, "name another place or make room"};
  }

 private:
  std::string path_;
  std::FILE* file_;
  std::string failure_;
};

constexpr Span kFutureTolerance = minutes(5);

/// Joins what a sensor sent together into one row again.
class Rows {
 public:
  /// Houses without contacts get no column for places.
  Rows(Output& output, bool with_places) : output_(output), columns_(with_places ? 3 : 2) {
    output_.write(std::string("time,sensor,temperature_c,humidity_percent") +
                  (with_places ? ",place\n" : "\n"));
  }

  bool add(const store::JournalRow& row) {
    std::string& field = fields_.at(static_cast<std::size_t>(row.quantity));
    if (row.time != time_ || row.sensor != sensor_ || !field.empty()) {
      if (!flush()) return false;
      time_ = row.time;
      sensor_ = row.sensor;
    }
    field = row.quantity == Quantity::place ? name_of(position_of(row.value))
                                            : fixed(from_milli(row.value), 3);
    return true;
  }
  bool flush() {
    std::string line;
    for (std::size_t i = 0; i < columns_; ++i) line += "," + fields_[i];
    const bool any = line.size() > columns_;
    fields_ = {};
    return !any || output_.write(format_rfc3339(time_) + "," + sensor_ + line + "\n");
  }

 private:
  Output& output_;
  std::size_t columns_;
  Instant time_{kNever};
  std::string sensor_;
  std::array<std::string, 3> fields_;  ///< by quantity
};

Status export_readings(store::Store& store, const std::string& path, const words::Reader& reader) {
  const auto last = store::JournalReads(store).last_seq();
  if (!last) return last.error();
  // After the last row: then a contact that first reports meanwhile is in neither.
  const auto with_places = store::JournalReads(store).holds(Quantity::place);
  if (!with_places) return with_places.error();
  Output output(path);
  Rows rows(output, *with_places);
  int future = 0;
  std::int64_t thinned = 0;
  const auto begins = [&](std::int64_t until) {
    thinned = until;
    return true;
  };
  Progress progress(reader(words::say("progress.exporting-readings")));
  const auto walked = store::JournalReads(store).since(
      0, begins, [&](std::int64_t seq, const store::JournalRow& row) {
        if (seq > *last) return false;
        progress.show(static_cast<double>(seq) / static_cast<double>(*last));
        // A contact's readings are kept longer than the others; alone they would start a rehearsal
        // long before its first air.
        if (row.kind != store::JournalKind::reading || seq <= thinned) return true;
        // A reading from the future is journaled but unused; in a rehearsal it would move the time
        // forward.
        if (row.time > row.now + kFutureTolerance) return ++future, true;
        return rows.add(row);
      });
  progress.clear();
  if (future > 0)
    std::fprintf(stderr, "%s\n",
                 reader(words::say("export.future", {{"count", words::count(future)}})).c_str());
  if (!walked) return walked;
  rows.flush();
  return output.finish();
}

Status export_ledger(store::Store& store, const std::string& path, const words::Reader&) {
  Output output(path);
  replay::LedgerReader rows(store, std::numeric_limits<std::int64_t>::min(),
                            std::numeric_limits<std::int64_t>::max());
  for (const store::LedgerRow* row = rows.next(); row != nullptr; row = rows.next()) {
    if (!output.write(row->json + "\n")) break;
    rows.pass();
  }
  if (rows.failure()) return *rows.failure();
  return output.finish();
}

/// Writes one line for every journal row of a kind. Rows that cannot be read back are counted.
Status export_rows(
    store::Store& store, const std::string& path, const words::Reader& reader,
    store::JournalKind kind, const words::Sentence& what,
    const std::function<std::optional<std::string>(const store::JournalRow&)>& line_of) {
  const auto last = store::JournalReads(store).last_seq();
  if (!last) return last.error();
  Output output(path);
  int unread = 0;
  Progress progress(reader(what));
  const auto walked =
      store::JournalReads(store).since(0, [&](std::int64_t seq, const store::JournalRow& row) {
        if (seq > *last) return false;
        progress.show(static_cast<double>(seq) / static_cast<double>(*last));
        if (row.kind != kind) return true;
        const auto line = line_of(row);
        return line ? output.write(*line + "\n") : (++unread, true);
      });
  progress.clear();
  if (unread > 0)
    std::fprintf(stderr, "%s\n",
                 reader(words::say("export.unread",
                                   {{"count", words::count(unread)}, {"file", words::name(path)}}))
                     .c_str());
  return walked ? output.finish() : walked;
}

Status export_requests(store::Store& store, const std::string& path, const words::Reader& reader) {
  return export_rows(store, path, reader, store::JournalKind::request,
                     words::say("progress.exporting-requests"),
                     [](const store::JournalRow& row) -> std::optional<std::string> {
                       const auto parsed = outlet::parse_request(row.body, outlet::Source::record);
                       const auto* request = std::get_if<feeding::Request>(&parsed);
                       if (request == nullptr) return std::nullopt;
                       return "{\"time\":" + json_string(format_rfc3339(row.now)) + "," +
                              outlet::to_json(*request).substr(1);
                     });
}

Status export_doses(store::Store& store, const std::string& path, const words::Reader& reader) {
  return export_rows(store, path, reader, store::JournalKind::dose,
                     words::say("progress.exporting-doses"),
                     [](const store::JournalRow& row) -> std::optional<std::string> {
                       const auto report = outlet::read_dose_body(row.body);
                       if (!report) return std::nullopt;
                       return outlet::dose_line(row.now, *report);
                     });
}

/// What was never taken, as it came; bytes that are no text in hexadecimal.
Status export_not_stored(store::Store& store, const std::string& path, const words::Reader&) {
  Output output(path);
  const auto walked = store::JournalReads(store).not_stored([&](const store::NotStored& input) {
    const bool text = is_utf8(input.payload);
    return output.write(
        JsonObject()
            .text("time", format_rfc3339(input.now))
            .text("topic", input.topic)
            .text(text ? "payload" : "payload_hex", text ? input.payload : hex(input.payload))
            .integer("payload_bytes", input.payload_bytes)
            .text("why", input.why)
            .str() +
        "\n");
  });
  return walked ? output.finish() : walked;
}

struct Options {
  HouseOptions house;
  std::string store, readings, ledger, requests, doses, not_stored;
};

int run(const Options& o) {
  auto store = store::Store::open_to_read(o.store);
  if (!store) {
    std::fprintf(stderr, "%s\n", store.error().message().c_str());
    return kNo;
  }
  const words::Reader reader = reader_of(o.house);
  for (const auto& [path, work] :
       {std::pair(&o.readings, &export_readings), std::pair(&o.ledger, &export_ledger),
        std::pair(&o.requests, &export_requests), std::pair(&o.doses, &export_doses),
        std::pair(&o.not_stored, &export_not_stored)}) {
    if (path->empty()) continue;
    if (auto done = work(**store, *path, reader); !done) {
      std::fprintf(stderr, "%s\n", done.error().message().c_str());
      return kNo;
    }
  }
  return kDone;
}

}  // namespace

void add_export(CLI::App& app, int& exit_code) {
  auto options = std::make_shared<Options>();
  auto* command = app.add_subcommand("export",
                                     "Write readings, ledger, requests and doses out of a store, "
                                     "as rehearse reads them; the service "
                                     "may run meanwhile");
  add_house(*command, options->house);
  auto* what = command->add_option_group("what", "At least one; - is standard output");
  what->add_option("--readings", options->readings,
                   "Readings as CSV, in the order in which they were taken")
      ->type_name("FILE");
  what->add_option("--ledger", options->ledger, "Decisions as JSON lines, as rehearse writes them")
      ->type_name("FILE");
  what->add_option("--requests", options->requests,
                   "Growers' requests as JSON lines, each with the time at which it was taken")
      ->type_name("FILE");
  what->add_option("--doses", options->doses,
                   "Pumps' reports as JSON lines, each with the time at which it was taken")
      ->type_name("FILE");
  what->add_option("--not-stored", options->not_stored,
                   "Messages that could not be stored, as JSON lines, as they came")
      ->type_name("FILE");
  what->require_option(1, 5);
  command->callback([options, &exit_code] {
    want_house(options->house);
    options->store = store_of(options->house);
    exit_code = options->store.empty() ? kNo : run(*options);
  });
}

}  // namespace plainwater::tool
