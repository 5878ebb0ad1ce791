#include "plainwater/mapped_csv.h"

#include <fmt/format.h>

#include <algorithm>
#include <optional>
#include <utility>

#include "common/quoted.h"
#include "plainwater/day_order.h"
#include "plainwater/readings_csv.h"

namespace plainwater::tool {
namespace {

using Use = CsvColumn::Use;

constexpr std::size_t kHeadLines = 64;     // of which the header must be one
constexpr std::uint64_t kLookedAt = 2000;  // lines that show whether times name their zone

/// What a column of humidity is called in --columns.
std::string what_of_humidity(const CsvColumn& column) {
  if (!column.sensor.empty()) return column.sensor + ".humidity";
  return column.use == Use::value ? "value" : "humidity";
}

/// The first lines, bare; an error when the file is empty or no text.
Result<std::vector<std::string>> head_of(TextLines& lines, const std::string& path) {
  std::vector<std::string> head;
  std::string_view line;
  while (head.size() < kHeadLines && lines.next(line)) {
    if (head.empty() && (line.starts_with("\xFF\xFE") || line.starts_with("\xFE\xFF")))
      return Error{"this is UTF-16 text", path, "save it as CSV in UTF-8"};
    head.emplace_back(bare_line(line, head.empty()));
  }
  if (head.empty()) return Error{kNothingInIt, path, "name a file with a header and readings"};
  return head;
}

}  // namespace

MappedCsv::MappedCsv(TextLines lines, CsvLayout layout, const CsvForm& form, LocalTimes local)
    : lines_(std::make_unique<TextLines>(std::move(lines))),
      layout_(std::move(layout)),
      times_(form.times),
      local_(std::move(local)) {
  commas_ = form.decimal == DecimalMark::comma ||
            (form.decimal == DecimalMark::guess && layout_.separator != ',');
  points_ = form.decimal != DecimalMark::comma;
  for (const auto& column : layout_.columns) needed_ = std::max(needed_, column.at + 1);
}

Result<MappedCsv> MappedCsv::open(const std::string& path, const CsvForm& form, const Site& site,
                                  const KnowsSensor& knows) {
  std::optional<ZoneTimes> zone;
  if (!form.zone.empty()) {
    auto found = ZoneTimes::of(form.zone, site);
    if (!found) return found.error();
    zone = std::move(*found);
  }
  auto lines = TextLines::open(path);
  if (!lines) return lines.error();
  if (!lines->can_go_back())
    return Error{"this is no file that can be read twice", path, "save it as a file first"};
  const auto head = head_of(*lines, path);
  if (!head) return head.error();
  auto layout = csv_layout(*head, form, knows);
  if (!layout) return Error{layout.error().what, path, layout.error().remedy};
  MappedCsv csv(std::move(*lines), std::move(*layout), form, LocalTimes(zone));
  csv.rewind();
  if (const auto done = csv.look_at_times(form); !done)
    return Error{done.error().what, path, done.error().remedy};
  csv.rewind();
  return csv;
}

void MappedCsv::rewind() {
  lines_->seek(0, 1);
  std::string_view line;
  for (std::size_t i = 0; i < layout_.header && lines_->next(line); ++i) {}
  refused_ = {};
}

bool MappedCsv::next_fields(std::vector<std::string_view>& fields) {
  std::string_view line;
  while (lines_->next(line)) {
    line_ = lines_->line();
    line = bare_line(line, line_ == 1);
    if (says_nothing(line)) continue;
    auto found = fields_.split(line, layout_.separator);
    if (!found) {
      refused_.add("lines with an open quote", line_, "", "a quote is not closed");
      continue;
    }
    while (layout_.fields > 0 && found->size() > layout_.fields && found->back().empty())
      found->pop_back();
    if (found->size() < needed_ || (layout_.fields > 0 && found->size() > layout_.fields)) {
      refused_.add("lines with another number of fields", line_, "",
                   fmt::format("it has {} fields, and {} are expected", found->size(),
                               std::max(needed_, layout_.fields)));
      continue;
    }
    fields = std::move(*found);
    return true;
  }
  return false;
}

std::string_view MappedCsv::time_text(const std::vector<std::string_view>& fields) {
  const std::string_view time = fields[layout_.find(Use::time)->at];
  const auto* date = layout_.find(Use::date);
  if (date == nullptr) return time;
  joined_.assign(fields[date->at]);
  joined_ += ' ';
  joined_ += time;
  return joined_;
}

Status MappedCsv::look_at_times(const CsvForm& form) {
  DayOrder order;
  std::vector<std::string_view> fields;
  std::uint64_t looked = 0, digits = 0;  // digits: a line that may be a date or seconds
  bool seconds_proven = false;
  while (next_fields(fields)) {
    const std::string_view text = time_text(fields);
    const auto pair = form.times == CsvTimes::guess ? day_pair(text) : std::nullopt;
    if (pair) order.take(*pair, line_);
    if (form.times == CsvTimes::guess && text.size() == 10 && !seconds_proven) {
      if (!may_be_digits_of_date(text))
        seconds_proven = read_time(text, CsvTimes::unix).has_value();
      else if (digits == 0)
        digits = line_;
    }
    const auto written = read_time(text, pair ? CsvTimes::day_first : form.times);
    const bool naked = written && !written->instant && !written->offset_s;
    if (naked && form.zone.empty())
      return Error{fmt::format("line {}: the time {} names no zone", line_, quoted(text)), "",
                   "say whose time it is: --zone Europe/London, --zone site for the site's, or "
                   "--zone +01:00 for a clock that never changes"};
    if (++looked >= kLookedAt && !order.needed()) break;
  }
  if (!lines_->read_error().empty())
    return Error{lines_->read_error(), "", "mend or replace the file"};
  if (digits != 0 && !seconds_proven)
    return Error{fmt::format("whether ten digits are a date or seconds since 1970 cannot be told "
                             "from this file (see line {})",
                             digits),
                 "", "say --times unix if they are seconds; write dates as 2025-09-20 07:00"};
  if (!order.needed()) return Done{};
  const auto found = order.order();
  if (!found) return found.error();
  times_ = *found;
  order_proven_ = true;
  return Done{};
}

std::string MappedCsv::name_of(const CsvLayout::Column& column) const {
  return quoted(column.what.column);
}

Status MappedCsv::fault() const {
  if (!lines_->read_error().empty())
    return Error{lines_->read_error(), "", "mend or replace the file"};
  if (local_.twice() > 0 && local_.falling())
    return Error{
        fmt::format("its lines go from new to old, and {} of their local times occur twice "
                    "as the clocks went back: which is meant cannot be told",
                    local_.twice()),
        "", "turn the order of its lines round, so that the oldest comes first"};
  // A broken sensor may say 0 for ever, and is no share.
  for (const auto& column : layout_.columns)
    if (const auto most = dampest_.find(column.at);
        most != dampest_.end() && most->second > 0 && most->second <= 1000)
      return Error{
          fmt::format("no humidity of column {} is above 1: it looks like a share of 1, and "
                      "would be read as percent",
                      name_of(column)),
          "",
          fmt::format("say {}.fraction={} in the columns", what_of_humidity(column.what),
                      column.what.column)};
  return Done{};
}

bool MappedCsv::next(CsvLine& line) {
  std::vector<std::string_view> fields;
  while (next_fields(fields)) {
    line.line = line_;
    line.values.clear();
    if (layout_.wide())
      read_wide(fields, line);
    else
      read_long(fields, line);
    if (!line.values.empty()) return true;
  }
  return false;
}

}  // namespace plainwater::tool
