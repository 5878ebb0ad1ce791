// Checks where readings come from: names, topics, fields.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <map>

#include "settings/check.h"
#include "settings/family.h"
#include "settings/meant.h"
#include "settings/reader.h"
#include "settings/scalar.h"

namespace plainwater {
namespace {

class SensorChecks {
 public:
  SensorChecks(const Draft& draft, Findings& findings) : draft_(draft), findings_(findings) {}

  void check(const SensorMapping& mapping) {
    at_ = &mapping;
    check_name();
    check_topic();
    if (draft_.doubtful(path("form"))) return;
    if (mapping.form == PayloadForm::json) check_pointers();
    if (draft_.doubtful(path(""))) return;  // what is missing may be what its mistake left out
    check_words();
    check_unit();
    switch (mapping.form) {
      case PayloadForm::number: return check_number();
      case PayloadForm::json: return check_json();
      case PayloadForm::senml: return check_senml();
    }
  }

 private:
  std::string path(std::string_view key) const {
    const std::string entry = "sensors." + path_part(at_->name);
    return key.empty() ? entry : fmt::format("{}.{}", entry, key);
  }
  int line(std::string_view key) const {
    const auto found = draft_.lines.find(path(key));
    return found == draft_.lines.end() ? at_->line : found->second;
  }
  void fault(std::string_view key, std::string what, std::string remedy) {
    findings_.problems.push_back({line(key), path(key), std::move(what), std::move(remedy)});
  }
  void warn(std::string_view key, std::string what, std::string remedy) {
    findings_.warnings.push_back({line(key), path(key), std::move(what), std::move(remedy)});
  }

  void check_name() {
    if (is_family(*at_)) {
      if (!is_topic_filter(at_->topic)) return;  // a wildcard in the wrong place
      if (const auto wrong = fault_of_family_name(*at_))
        fault("", *wrong, "write it like {1} or house-{1}");
    } else if (at_->name.find_first_of("{}") != std::string::npos) {
      if (draft_.doubtful(path("")) || at_->topic.empty()) return;  // the topic is at fault
      fault("", "the name holds braces, but the topic has no wildcard for them",
            "put + into the topic, or name the sensor plainly");
    } else if (!is_level_name(at_->name)) {
      fault("", "expected a name: at most 64 characters without spaces or any of / + # { }",
            meant_name(at_->name));
    }
  }

  void check_topic() {
    if (at_->topic.empty()) {
      if (!draft_.settings.broker.url.empty())
        fault("topic", "expected the MQTT topic that its readings come from", "give one");
    } else if (!is_topic_filter(at_->topic)) {
      fault("topic", fmt::format("{} is not an MQTT topic filter", quoted(at_->topic)),
            meant_topic(at_->topic));
    }
  }

  /// Where people read °F, a sensor may well send it. 75 would pass as a hot day in °C.
  void check_unit() {
    const bool temperature = at_->form == PayloadForm::number
                                 ? at_->quantity == Quantity::temperature
                                 : at_->form == PayloadForm::json && !at_->temperature.empty();
    if (temperature && draft_.settings.board.unit == ShownUnit::fahrenheit &&
        !draft_.lines.contains(path("unit")))
      warn("unit",
           "nothing says in which unit it sends, and it is taken as °C, though the pages are in °F",
           "say unit: fahrenheit or unit: celsius");
  }

  void check_words() {
    static const SensorMapping kDefaults;
    check_word("outdoors_word", at_->outdoors_word, kDefaults.outdoors_word);
    check_word("indoors_word", at_->indoors_word, kDefaults.indoors_word);
    if (at_->outdoors_word == at_->indoors_word)
      fault("indoors_word",
            fmt::format("the same word as outdoors_word, {}", quoted(at_->indoors_word)),
            "one word cannot mean both");
  }

  /// Blanks around a contact's words are ignored.
  void check_word(std::string_view key, const std::string& word, const std::string& usual) {
    const auto blank = [](char c) {
      return std::string_view(" \t\r\n").find(c) != std::string_view::npos;
    };
    if (word != usual && !tells_place(*at_))
      fault(key, "only a contact has words",
            "say quantity: place, or form: json and where the word is in place; or leave the key "
            "out");
    else if (word.empty() || blank(word.front()) || blank(word.back()))
      fault(key, fmt::format("expected a word without blanks around it, found {}", quoted(word)),
            "write it as the contact sends it");
  }

  std::array<std::pair<const char*, const std::string*>, 4> fields_and_time() const {
    return {{{"temperature", &at_->temperature},
             {"humidity", &at_->humidity},
             {"place", &at_->place},
             {"time", &at_->time}}};
  }

  void check_number() {
    for (const auto& [key, value] : fields_and_time())
      if (!value->empty())
        return fault(key, "a plain number has no fields",
                     "say form: json; or leave it out, and others like it");
    claim("quantity", "");
    if (draft_.settings.clock.time == ClockMode::readings && !draft_.settings.broker.url.empty())
      warn("form", "a plain number carries no time, so with clock.time: readings it is not used",
           "send JSON with a time");
  }

  void check_pointers() {
    for (const auto& [key, value] : fields_and_time())
      if (!is_json_pointer(*value))
        fault(key, fmt::format("expected a JSON Pointer, found {}", quoted(*value)),
              meant_pointer(*value));
  }

  void check_json() {
    check_fields();
    if (at_->time.empty() && draft_.settings.clock.time == ClockMode::readings &&
        !draft_.settings.broker.url.empty())
      warn("time",
           "without a time of their own its readings are not used with clock.time: readings",
           "point to the time");
  }

  void check_senml() {
    if (!at_->time.empty())
      fault("time", "a SenML record carries its own time", "leave the key out");
    if (!at_->place.empty())
      fault("place", "a contact's word is not read from SenML",
            "send it as JSON, or plainly with quantity: place");
    check_fields();
  }

  void check_fields() {
    if (at_->quantity != Quantity::temperature)
      fault("quantity", "only a plain number needs it", "leave it out; name the fields instead");
    else if (at_->temperature.empty() && at_->humidity.empty() && at_->place.empty())
      fault("",
            at_->form == PayloadForm::json
                ? "expected temperature, humidity or place to name a field of the payload"
                : "expected temperature or humidity to name a field of the payload",
            "name one");
    for (const auto& [key, field] : fields_and_time())
      if (!field->empty() && std::string_view(key) != "time" && !claim(key, *field)) return;
  }

  /// One field of one topic can only be one quantity of one sensor. False: it is another's already.
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
  const SensorMapping* at_ = nullptr;
  std::map<std::pair<std::string, std::string>, std::string> owners_;
};

}  // namespace

void check_sensors(const Draft& draft, Findings& findings) {
  SensorChecks checks(draft, findings);
  for (const SensorMapping& mapping : draft.settings.mappings) checks.check(mapping);
  const auto& mappings = draft.settings.mappings;
  if (const auto families = std::count_if(mappings.begin(), mappings.end(), is_family);
      families > static_cast<std::ptrdiff_t>(kMostFamilies))
    findings.problems.push_back(
        {draft.line("sensors"), "sensors",
         fmt::format("expected at most {} families, found {}", kMostFamilies, families),
         "join some under one wildcard"});
}

}  // namespace plainwater
