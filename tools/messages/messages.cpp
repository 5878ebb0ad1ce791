#include "messages/messages.h"

#include <algorithm>
#include <boost/json/parse.hpp>
#include <charconv>
#include <vector>

#include "intake/dose_payload.h"
#include "outlet/dose_report.h"
#include "outlet/requests.h"

namespace plainwater::tool {
namespace {

Judged wrong(std::string field, std::string problem, std::string remedy) {
  return {Verdict::wrong, {std::move(field), std::move(problem), std::move(remedy)}};
}

/// The last levels of a topic, which show what it carries.
struct Kind {
  std::string word;  ///< "order", "requests" …; empty: not one of ours
  std::string base;  ///< the levels before it
  std::string bench;
};

Kind kind_of(std::string_view topic) {
  std::vector<std::string> levels(1);
  for (const char c : topic) {
    if (c == '/')
      levels.emplace_back();
    else
      levels.back() += c;
  }
  const std::size_t n = levels.size();
  const auto base = [&](std::size_t tail) {
    std::string text;
    for (std::size_t i = 0; i + tail < n; ++i) text += (i == 0 ? "" : "/") + levels[i];
    return text;
  };
  static const std::vector<std::string> leaves{"order",   "strength", "placard",
                                               "climate", "position", "dosed"};
  const auto urgency = [](const std::string& word) {
    return word == "urgent" || word == "soon" || word == "info";
  };
  if (n >= 5 && levels[n - 3] == "benches" &&
      std::find(leaves.begin(), leaves.end(), levels[n - 1]) != leaves.end())
    return {levels[n - 1], base(3), levels[n - 2]};
  if (n >= 4 && levels[n - 2] == "notices" && urgency(levels[n - 1]))
    return {"notice text", base(2), ""};
  if (n >= 5 && levels[n - 3] == "notices" && urgency(levels[n - 2]) && levels[n - 1] == "json")
    return {"notice", base(3), ""};
  // Of one person.
  if (n >= 5 && levels[n - 3] == "notices" && levels[n - 1] == "urgent")
    return {"notice text", base(3), ""};
  if (n >= 6 && levels[n - 4] == "notices" && levels[n - 2] == "urgent" && levels[n - 1] == "json")
    return {"notice", base(4), ""};
  if (n >= 3 && levels[n - 1] == "requests") return {"request", base(1), ""};
  if (n >= 4 && levels[n - 2] == "replies") return {"reply", base(2), ""};
  if (n >= 4 && levels[n - 2] == "service") return {"service", base(2), ""};
  if (n >= 5 && levels[n - 3] == "service" && levels[n - 1] == "fence")
    return {"fence", base(3), ""};
  return {};
}

Judged strength(std::string_view payload) {
  int percent = -1;
  const auto [end, broken] =
      std::from_chars(payload.data(), payload.data() + payload.size(), percent);
  if (broken != std::errc() || end != payload.data() + payload.size() || percent < 0 ||
      percent > 100 || std::to_string(percent) != payload)
    return wrong("", "is no whole number from 0 to 100",
                 "send the digits alone, 0 for plain water");
  return {};
}

Judged placard(std::string_view payload, const Settings* settings) {
  const Placards board = settings != nullptr ? settings->placards : Placards{80, 8, false};
  int lines = 1, width = 0;
  for (const char c : payload) {
    if (c == '\n') {
      if (width == 0) break;
      ++lines;
      width = 0;
    } else if ((static_cast<unsigned char>(c) & 0xC0) != 0x80) {
      if (++width > board.width)
        return wrong("", "has a line of more than " + std::to_string(board.width) + " characters",
                     "see placards.width in the settings");
    }
    if (board.ascii && static_cast<unsigned char>(c) >= 0x7F)
      return wrong("", "is not of ASCII alone", "see placards.ascii in the settings");
  }
  if (width == 0)
    return wrong("", "has an empty line", "the service sends none: who else publishes here?");
  if (lines > board.lines)
    return wrong("", "has more than " + std::to_string(board.lines) + " lines",
                 "see placards.lines in the settings");
  return {};
}

Judged one_line(std::string_view payload) {
  if (payload.empty() || payload.find('\n') != std::string_view::npos)
    return wrong("", "is not one line of text",
                 "the service sends nothing else: who else publishes here?");
  return {};
}

Judged json_message(const std::string& schema, std::string_view payload) {
  boost::system::error_code broken;
  const auto value = boost::json::parse({payload.data(), payload.size()}, broken);
  if (broken)
    return wrong("", "is not JSON (" + broken.message() + ")", "send one JSON object, in UTF-8");
  if (auto fault = fault_by_schema(schema, value)) return {Verdict::wrong, std::move(*fault)};
  // Our readers check what no schema can: sizes in bytes, years, fields that belong together.
  if (schema == "request") {
    const auto read = outlet::parse_request(payload);
    if (const auto* fault = std::get_if<outlet::RequestFault>(&read))
      return wrong("", "would be refused: " + fault->reply.text(),
                   "see config/schemas/request.json");
  }
  if (schema == "dosed") {
    const auto read = outlet::parse_dose_report(payload);
    if (const auto* fault = std::get_if<outlet::FieldFault>(&read))
      return wrong("", "would be refused: " + fault->text(), "see config/schemas/dosed.json");
  }
  return {};
}

Judged refused(const std::string& entry, intake::Refusal reason) {
  return wrong("", "would be refused by " + entry + ": " + intake::name_of(reason),
               intake::remedy(reason));
}

}  // namespace

MessageCheck::MessageCheck(std::shared_ptr<const Settings> settings)
    : settings_(std::move(settings)) {
  if (settings_) catalogue_.emplace(settings_);
}

Judged MessageCheck::of_settings(std::string_view topic, std::string_view payload) const {
  const auto matches = catalogue_->match(topic);
  const auto reports = catalogue_->reports(topic);
  if (matches.empty() && reports.empty())
    return {Verdict::unknown,
            {"", "is a topic of which the settings know nothing",
             "leave it out, or map it under sensors or pump_reports"}};
  intake::Payload read(payload);
  for (const auto& match : matches)
    if (const auto decoded = read.decode(*match.mapping); decoded.refusal)
      return refused("sensors." + match.mapping->name, *decoded.refusal);
  for (const auto* report : reports)
    if (const auto decoded = intake::decode_doses(read, *report); decoded.refusal)
      return refused("pump_reports." + report->name, *decoded.refusal);
  return {};
}

Judged MessageCheck::judge(std::string_view topic, std::string_view payload) const {
  const Kind kind = kind_of(topic);
  const std::string ours =
      settings_ ? settings_->broker.root + "/" + settings_->site.name : std::string();
  const bool below = settings_ ? topic.starts_with(ours + "/") : topic.starts_with("plainwater/");
  if (kind.word.empty() || (settings_ && kind.base != ours)) {
    if (below)
      return wrong("", "is a topic that is not known",
                   "see the table of topics in config/README.md");
    if (settings_) return of_settings(topic, payload);
    return {Verdict::unknown,
            {"", "is a topic that is not known without settings",
             "name them with --settings if it is a sensor's or a pump's"}};
  }
  if (settings_ && !kind.bench.empty() && !settings_->bench(kind.bench))
    return wrong("", "is of a bench that the settings do not have",
                 "mend the topic, or add the bench");
  if (kind.word == "strength") return strength(payload);
  if (kind.word == "placard") return placard(payload, settings_.get());
  if (kind.word == "notice text" || kind.word == "fence") return one_line(payload);
  if (payload.empty() && kind.word != "request" && kind.word != "dosed")
    return {};  // clears a retained message
  return json_message(kind.word, payload);
}

}  // namespace plainwater::tool
