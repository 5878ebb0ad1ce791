#include "plainwater/readings_files.h"

#include <fmt/format.h>
#include <sys/stat.h>

#include <algorithm>
#include <utility>

#include "plainwater/heading_unit.h"
#include "plainwater/readings_csv.h"

namespace plainwater::tool {
namespace {

/// A line this far from both of its neighbours, which are near each other, has a wrong time.
constexpr Span kFar = 60 * kDay;
constexpr std::uint64_t kProgressLines = 4096;

bool far_apart(Instant a, Instant b) { return a < b ? b - a > kFar : a - b > kFar; }

Error stopped() { return Error{"interrupted", "", ""}; }

std::string described(const CsvLayout& layout) {
  const char* separator = layout.separator == ','   ? "commas"
                          : layout.separator == ';' ? "semicolons"
                                                    : "tabs";
  std::string text = fmt::format("fields between {}", separator);
  using Use = CsvColumn::Use;
  for (const auto& column : layout.columns)
    if (column.what.use == Use::temperature || column.what.use == Use::value)
      text += fmt::format(", column {} in {}{}", column.what.column,
                          symbol_of(column.what.unit.value_or(Unit::celsius)),
                          layout.find(Use::quantity) != nullptr && !column.what.unit
                              ? " where its row names no other unit of temperature"
                              : "");
  return text;
}

}  // namespace

bool is_of_our_form(const std::string& path) {
  // What is read from a pipe is gone, and whoever writes it may end when it is closed.
  struct stat info{};
  if (stat(path.c_str(), &info) != 0 || !S_ISREG(info.st_mode)) return true;
  auto lines = TextLines::open(path);
  std::string_view header;
  return !lines || !lines->next(header) || is_readings_header(header);
}

bool ReadingsFiles::step(double share, const Shown& progress) {
  return ++lines_ % kProgressLines != 0 || progress(share);
}

Status ReadingsFiles::take_own(const std::string& path, RefusedRows& refused,
                               const Shown& progress) {
  auto csv = ReadingsCsv::open(path, [&](std::uint64_t line, const std::string& why) {
    refused.add("rows that cannot be read", line, "", why);
  });
  if (!csv) return csv.error();
  CsvRow row;
  CsvLine line;
  while (csv->next(row)) {
    line.time = row.time;
    line.line = row.line;
    line.values.clear();
    for (const auto& [quantity, value] :
         {std::pair(Quantity::temperature, row.temperature),
          std::pair(Quantity::humidity, row.humidity), std::pair(Quantity::place, row.place)})
      if (value != kMissing) line.values.push_back({row.sensor, quantity, value});
    if (auto done = take_line(line, refused); !done) return done;
    if (!step(csv->progress(), progress)) return stopped();
  }
  if (!csv->read_error().empty()) return Error{csv->read_error(), "", "mend or replace the file"};
  return Done{};
}

Status ReadingsFiles::take_mapped(const std::string& path, const CsvForm& form,
                                  RefusedRows& refused, const Say& say, const Shown& progress) {
  const auto knows = [&](std::string_view name) {
    return settings_->heir_of_sensor(name).has_value();
  };
  auto csv = MappedCsv::open(path, form, settings_->site, knows);
  if (!csv) return csv.error();
  say(fmt::format("{}: read with {}", path, described(csv->layout())));
  CsvLine line;
  while (csv->next(line)) {
    if (auto done = take_line(line, csv->refused()); !done) return done;
    if (!step(csv->progress(), progress)) return stopped();
  }
  if (const auto whole = csv->fault(); !whole)
    return Error{whole.error().what, path, whole.error().remedy};
  if (csv->twice() > 0)
    say(fmt::format(
        "{}: {} local times occur twice, as the clocks went back: the earlier was meant, unless "
        "its sensor had passed it",
        path, csv->twice()));
  refused = csv->refused();
  return Done{};
}

Status ReadingsFiles::take(const std::string& path, const std::optional<CsvForm>& form,
                           const Say& say, const Shown& progress) {
  path_ = path;
  others_ = 0;
  last_.reset();
  first_.reset();
  held_.reset();
  RefusedRows refused;
  auto taken =
      form ? take_mapped(path, *form, refused, say, progress) : take_own(path, refused, progress);
  if (taken) taken = end_of_file(refused);
  refused.tell(path, say);
  if (others_ > 0)
    say(fmt::format(
        "{}: {} readings are of still other sensors than {} unknown ones, which are too "
        "many to name; see that the column of sensors is the right one",
        path, others_, kMostUnknown));
  refused_count_ += refused.count();
  return taken;
}

Status ReadingsFiles::take_line(const CsvLine& line, RefusedRows& refused) {
  if (line.time > limits_.to || line.time < limits_.from) {
    const bool future = line.time > limits_.to;
    refused.add(future ? "times in the future" : "times before there were such sensors", line.line,
                "",
                fmt::format("the time is {}, {}", format_rfc3339(line.time),
                            future ? "in the future" : "as of a clock that was never set"));
    return Done{};
  }
  Held now{line.time, line.line, {}};
  for (const auto& v : line.values)
    now.values.push_back({std::string(v.sensor), v.quantity, v.value});
  if (!last_) return begin(std::move(now), refused);
  if (held_) {
    const Held& held = *held_;
    if (far_apart(line.time, held.time) && !far_apart(line.time, *last_))
      refuse(held, "the lines around it", refused);
    else if (auto done = stage(held); !done)
      return done;
    held_.reset();
  }
  if (!far_apart(line.time, *last_)) return stage(now);
  held_ = std::move(now);
  return Done{};
}

Status ReadingsFiles::begin(Held now, RefusedRows& refused) {
  if (!first_) {
    first_ = std::move(now);
    return Done{};
  }
  const bool far = far_apart(now.time, first_->time);
  if (!held_ && far) {
    held_ = std::move(now);
    return Done{};
  }
  // A third line shows which of two that are far from each other is wrong; if it is far from both,
  // the file has such gaps.
  const bool second_holds = held_ && !far_apart(now.time, held_->time);
  if (second_holds) {
    refuse(*first_, "the lines after it", refused);
  } else if (auto done = stage(*first_); !done) {
    return done;
  }
  first_.reset();
  if (held_ && !second_holds && !far)
    refuse(*held_, "the lines around it", refused);
  else if (held_)
    if (auto done = stage(*held_); !done) return done;
  held_.reset();
  if (!far_apart(now.time, *last_)) return stage(now);
  held_ = std::move(now);
  return Done{};
}

Status ReadingsFiles::end_of_file(RefusedRows& refused) {
  if (first_ && !held_) return stage(*first_);
  if (first_) refuse(*first_, "the only other line", refused);
  if (held_) refuse(*held_, first_ ? "the only other line" : "the line before it", refused);
  return Done{};
}

void ReadingsFiles::refuse(const Held& line, const char* from, RefusedRows& refused) {
  refused.add("times far from those around them", line.line, "",
              fmt::format("the time is {}, far from {}", format_date(line.time), from));
}

const std::string* ReadingsFiles::name_of(const std::string& sensor, std::uint64_t line) {
  auto heir = heirs_.find(sensor);
  if (heir == heirs_.end()) {
    const auto id = settings_->heir_of_sensor(sensor);
    if (!id && unknown_.size() >= kMostUnknown) {
      ++others_;
      return keep_unknown_ ? &unknown_.begin()->first : nullptr;
    }
    heir =
        heirs_
            .emplace(sensor, id ? std::optional(settings_->sensors[index(*id)].name) : std::nullopt)
            .first;
  }
  if (heir->second) {
    ++used_;
    return &*heir->second;
  }
  auto& unknown = unknown_[sensor];
  if (unknown.readings++ == 0) unknown.file = path_, unknown.line = line;
  return keep_unknown_ ? &heir->first : nullptr;
}

Status ReadingsFiles::stage(const Held& line) {
  last_ = line.time;
  for (const auto& v : line.values) {
    const std::string* name = name_of(v.sensor, line.line);
    if (name == nullptr) continue;
    if (auto done = staged_.add(*name, v.quantity, line.time, v.value); !done) return done;
  }
  return Done{};
}

}  // namespace plainwater::tool
