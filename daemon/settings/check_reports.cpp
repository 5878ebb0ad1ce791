// Checks where pump reports come from: names, topics, fields.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <map>
#include <set>

#include "settings/check.h"
#include "settings/meant.h"
#include "settings/reader.h"
#include "settings/scalar.h"

namespace plainwater {
namespace {

using Field = std::pair<const char*, const std::string*>;

class ReportChecks {
 public:
  ReportChecks(const Draft& draft, Findings& findings) : draft_(draft), findings_(findings) {
    for (const Pump& pump : draft.pumps) pumps_.emplace(pump.name, &pump);
  }

  void check(const PumpReport& report) {
    at_ = &report;
    if (!is_level_name(report.name))
      fault("", "expected a name: at most 64 characters without spaces or any of / + # { }",
            meant_name(report.name));
    check_pump();
    check_topic();
    if (draft_.doubtful(path(""))) return;  // what is missing may be what its mistake left out
    switch (report.form) {
      case PayloadForm::number: return check_number();
      case PayloadForm::json: return check_json();
      case PayloadForm::senml: return check_senml();
    }
  }

 private:
  std::string path(std::string_view key) const {
    const std::string entry = "pump_reports." + path_part(at_->name);
    return key.empty() ? entry : fmt::format("{}.{}", entry, key);
  }
  void fault(std::string_view key, std::string what, std::string remedy) {
    findings_.problems.push_back(
        {draft_.line(path(key)), path(key), std::move(what), std::move(remedy)});
  }

  void check_pump() {
    const auto name = [](const auto& item) -> std::string_view { return item.name; };
    if (at_->pump.empty())
      return fault("pump", "expected the pump that it reports on", "name one of pumps");
    const auto found = pumps_.find(at_->pump);
    const Pump* pump = found == pumps_.end() ? nullptr : found->second;
    if (draft_.refused_at("pumps." + path_part(at_->pump))) return;
    if (pump == nullptr) {
      if (!unknown_.insert(at_->pump).second) return;  // one mistake, however many reports name it
      const std::string near = nearest(at_->pump, draft_.pumps, name);
      fault("pump", fmt::format("there is no pump {}", quoted(at_->pump)),
            near.empty() ? "add it to pumps" : fmt::format("did you mean {}?", near));
    } else if (!draft_.doubtful("pumps." + path_part(at_->pump)) && !at_->bench.empty() &&
               !pump->feeds(at_->bench)) {
      const std::string near =
          nearest(at_->bench, pump->benches,
                  [](const std::string& bench) -> std::string_view { return bench; });
      fault("bench", fmt::format("pump {} has no bench {}", pump->name, quoted(at_->bench)),
            near.empty() ? "name one of its benches, or leave it blank for all"
                         : fmt::format("did you mean {}?", near));
    }
  }

  void check_topic() {
    if (at_->topic.empty())
      fault("topic", "expected the MQTT topic that its reports come from", "give one");
    else if (at_->topic.find_first_of("+#") != std::string::npos || !is_topic_filter(at_->topic))
      fault("topic",
            fmt::format("expected a topic without wildcards, found {}", quoted(at_->topic)),
            "give every meter an entry of its own");
  }

  std::array<Field, 7> amounts() const {
    return {{{"litres", &at_->litres},
             {"litres_total", &at_->litres_total},
             {"feed", &at_->feed},
             {"feed_total", &at_->feed_total},
             {"strength", &at_->strength},
             {"ec", &at_->ec},
             {"runoff_ec", &at_->runoff_ec}}};
  }
  std::array<Field, 2> others() const {
    return {{{"water_temperature", &at_->water_temperature}, {"time", &at_->time}}};
  }

  template <class Action>
  void each_field(Action action) const {
    for (const Field& field : amounts()) action(field);
    for (const Field& field : others()) action(field);
  }

  void check_number() {
    const char* field_given = nullptr;
    each_field([&](const Field& field) {
      if (!field.second->empty() && field_given == nullptr) field_given = field.first;
    });
    if (field_given != nullptr)
      return fault(field_given, "a plain number has no fields",
                   "leave it out, and others like it; or say form: json");
    if (!draft_.lines.contains(path("value")))
      fault("value", "expected what the number is", "say it, as in value: litres-total");
    if (!at_->ec_compensated && at_->value == DoseField::ec)
      fault("ec_compensated", "a plain number has no temperature to compensate with",
            "send the EC at 25 °C, or JSON with the temperature");
    claim("value", "");
  }

  void check_json() {
    each_field([&](const Field& field) {
      if (!is_json_pointer(*field.second))
        fault(field.first, fmt::format("expected a JSON Pointer, found {}", quoted(*field.second)),
              meant_pointer(*field.second));
    });
    check_fields();
  }

  void check_senml() {
    if (!at_->time.empty())
      fault("time", "a SenML record carries its own time", "leave the key out");
    check_fields();
  }

  void check_fields() {
    const auto is_given = [](const Field& field) { return !field.second->empty(); };
    const auto fields = amounts();
    if (at_->value != PumpReport{}.value)
      fault("value", "only a plain number needs it", "leave it out; name the fields instead");
    else if (std::none_of(fields.begin(), fields.end(), is_given))
      fault("",
            "expected a field of the payload: litres, litres_total, feed, feed_total, strength, ec "
            "or runoff_ec",
            "name one");
    for (const Field& field : fields)
      if (is_given(field) && !claim(field.first, *field.second)) break;
    if (!at_->ec_compensated && !at_->ec.empty() && at_->water_temperature.empty())
      fault("water_temperature", "an EC that is not compensated needs the water's temperature",
            "name its field, or say ec_compensated: true");
  }

  /// One field of one topic can only be one amount. False: it is another one already.
  bool claim(std::string_view key, const std::string& field) {
    if (at_->topic.empty()) return true;
    const auto [owner, is_new] = owners_.try_emplace({at_->topic, field}, path(key));
    if (!is_new)
      fault(key, fmt::format("the same topic and field as {}", owner->second),
            "one of them is wrong");
    return is_new;
  }

  const Draft& draft_;
  Findings& findings_;
  const PumpReport* at_ = nullptr;
  std::map<std::string_view, const Pump*> pumps_;
  std::set<std::string> unknown_;
  std::map<std::pair<std::string, std::string>, std::string> owners_;
};

}  // namespace

void check_reports(const Draft& draft, Findings& findings) {
  ReportChecks checks(draft, findings);
  for (const PumpReport& report : draft.settings.pump_reports) checks.check(report);
}

}  // namespace plainwater
