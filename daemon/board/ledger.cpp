#include "board/ledger.h"

#include <fmt/format.h>

#include <boost/json.hpp>
#include <charconv>

#include "board/season.h"
#include "common/json_text.h"
#include "common/quoted.h"
#include "store/ledger_reads.h"

namespace plainwater::board {
namespace {

constexpr std::int64_t kCsvRows = 1000;  ///< a piece

std::optional<std::int64_t> whole_number(const std::string& text, std::int64_t least,
                                         std::int64_t most) {
  std::int64_t value = 0;
  const auto [end, fault] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (fault != std::errc() || end != text.data() + text.size() || value < least || value > most)
    return std::nullopt;
  return value;
}

Error wrong(const std::string& field, const std::string& what, const std::string& found) {
  return Error{"expected " + what + ", found " + quoted(found, 60), field,
               "correct it or leave it out"};
}

/// What people wrote may stand at the beginning of a text, and a spreadsheet would take "=…" there
/// for a formula to obey.
std::string no_formula(const std::string& text) {
  return !text.empty() &&
                 std::string_view("=+-@\t\r\n").find(text.front()) != std::string_view::npos
             ? "'" + text
             : text;
}

std::string csv_field(std::string_view text) {
  if (text.find_first_of("\",\r\n") == std::string_view::npos) return std::string(text);
  std::string out = "\"";
  for (const char c : text) out += c == '"' ? "\"\"" : std::string(1, c);
  return out + "\"";
}

std::string plain(const boost::json::object& row, std::string_view key) {
  const auto* value = row.if_contains({key.data(), key.size()});
  if (value == nullptr || value->is_null()) return {};
  if (value->is_string())
    return std::string(value->get_string().data(), value->get_string().size());
  if (value->is_int64()) return std::to_string(value->get_int64());
  if (value->is_object())
    if (const auto* id = value->get_object().if_contains("id"))
      return std::to_string(id->to_number<std::int64_t>());
  return {};
}

/// The evidence as it was recorded: the library would write its numbers anew.
std::string evidence_of(const std::string& json) {
  constexpr std::string_view kBegin = "\"evidence\":", kEnd = ",\"text\":";
  const auto begin = json.find(kBegin), end = json.rfind(kEnd);
  if (begin == std::string::npos || end == std::string::npos || end < begin) return "{}";
  return json.substr(begin + kBegin.size(), end - begin - kBegin.size());
}

std::string csv_row(const store::LedgerRow& row) {
  boost::system::error_code fault;
  const auto parsed = boost::json::parse(row.json, fault);
  const boost::json::object none;
  const auto& decision = !fault && parsed.is_object() ? parsed.get_object() : none;
  std::string line = std::to_string(row.id);
  for (const auto& field :
       {format_rfc3339(row.time), no_formula(row.bench), row.decision, row.cause,
        plain(decision, "feeding"), plain(decision, "strength_percent"), plain(decision, "hold"),
        plain(decision, "position"), plain(decision, "since"), no_formula(plain(decision, "text")),
        evidence_of(row.json)})
    line += "," + csv_field(field);
  return line + "\r\n";
}

}  // namespace

Result<store::LedgerFilter> ledger_filter(
    const std::vector<std::pair<std::string, std::string>>& query, const outlet::LocalTime& local) {
  store::LedgerFilter filter;
  filter.newest_first = true;
  filter.limit = kUsualRows;
  for (const auto& [name, value] : query) {
    if (name == "bench") {
      filter.bench = value;  // also one that the settings name no more
    } else if (name == "decision") {
      for (std::size_t at = 0; at <= value.size();) {
        const auto end = std::min(value.find(',', at), value.size());
        const std::string kind = value.substr(at, end - at);
        if (!feeding::decision_kind(kind))
          return wrong(name, "kinds of decisions with commas between", kind);
        filter.decisions.push_back(kind);
        at = end + 1;
      }
    } else if (name == "cause") {
      if (!feeding::cause(value)) return wrong(name, "a cause", value);
      filter.cause = value;
    } else if (name == "from" || name == "to") {
      const auto midnight = is_date(value)
                                ? local.midnight(name == "to" ? date_after(value, 1) : value)
                                : std::nullopt;
      if (!midnight) return wrong(name, "a date such as 2026-09-14", value);
      (name == "to" ? filter.until : filter.since) = *midnight;
    } else if (name == "before") {
      const auto id = whole_number(value, 1, std::numeric_limits<std::int64_t>::max());
      if (!id) return wrong(name, "the number of a row", value);
      filter.before_id = *id;
    } else if (name == "limit") {
      const auto limit = whole_number(value, 1, kMostRows);
      if (!limit) return wrong(name, fmt::format("a whole number from 1 to {}", kMostRows), value);
      filter.limit = *limit;
    } else {
      return Error{"there is no such filter: " + quoted(name, 60), "",
                   "use bench, decision, cause, from, to, before, limit"};
    }
  }
  return filter;
}

std::string shown_json(const store::LedgerRow& row, const words::Reader& reader) {
  static constexpr std::string_view kText = ",\"text\":";  // the last key of a decision
  const auto at = row.json.rfind(kText);
  if (row.said.empty() || at == std::string::npos) return row.json;
  const auto said = words::sentence_of(row.said);
  if (!said || !words::is_known(*said)) return row.json;
  return row.json.substr(0, at) + std::string(kText) + json_string(reader(*said)) + "}";
}

std::string row_json(const store::LedgerRow& row, const words::Reader& reader) {
  return fmt::format("{{\"id\":{},{}", row.id, shown_json(row, reader).substr(1));
}

Result<std::string> ledger_json(store::Store& store, const store::LedgerFilter& filter,
                                const words::Reader& reader) {
  store::LedgerFilter asked = filter;
  asked.limit = filter.limit + 1;  // one more tells whether there are older ones
  std::string rows;
  std::int64_t count = 0, last = 0;
  bool more = false;
  const auto done = store::LedgerReads(store).walk(asked, [&](const store::LedgerRow& row) {
    if (count == filter.limit) return !(more = true);
    rows += (count++ == 0 ? "" : ",") + row_json(row, reader);
    last = row.id;
    return true;
  });
  if (!done) return done.error();
  return JsonObject()
      .raw("rows", "[" + rows + "]")
      .raw("before", more ? std::to_string(last) : "null")
      .str();
}

Result<std::string> ledger_csv(store::Store& store, store::LedgerFilter& filter) {
  filter.newest_first = false;
  filter.limit = kCsvRows;
  std::string text;
  const auto done = store::LedgerReads(store).walk(filter, [&](const store::LedgerRow& row) {
    text += csv_row(row);
    filter.after_id = row.id;
    return true;
  });
  if (!done) return done.error();
  return text;
}

}  // namespace plainwater::board
