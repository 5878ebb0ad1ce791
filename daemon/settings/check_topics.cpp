// Checks topics against each other: a payload has one form. These are warnings: the service runs
// all the same, and counts what it has to refuse.
#include <fmt/format.h>

#include <map>
#include <set>
#include <vector>

#include "settings/check.h"
#include "settings/family.h"
#include "settings/keys.h"
#include "settings/reader.h"
#include "settings/scalar.h"
#include "settings/topic_filter.h"

namespace plainwater {
namespace {

std::string form_word(PayloadForm form) { return yaml_of(Slot(&form)); }

/// An entry that reads a topic.
struct TopicReader {
  std::string path;
  int line = 0;
  std::string_view topic;
  PayloadForm form = PayloadForm::number;
};

class TopicChecks {
 public:
  TopicChecks(const Draft& draft, Findings& findings) : draft_(draft), findings_(findings) {
    const Site& site = draft.settings.site;
    used_ = {site.outdoor_reference, site.indoor_reference};
    for (const BenchDraft& bench : draft.benches) {
      used_.insert(bench.sensors.begin(), bench.sensors.end());
      used_.insert(bench.contact);
    }
    used_.erase("");
  }

  void check() {
    std::vector<const SensorMapping*> families;
    for (const SensorMapping& mapping : draft_.settings.mappings) {
      const TopicReader reader = reader_of("sensors", mapping);
      check_signs(reader);
      if (!is_topic_filter(mapping.topic)) continue;
      if (!is_family(mapping)) {
        own_.insert(mapping.name);
        take(reader);
      } else if (families.size() < kMostFamilies) {
        families.push_back(&mapping);
      }
    }
    for (const PumpReport& report : draft_.settings.pump_reports) {
      check_signs(reader_of("pump_reports", report));
      take(reader_of("pump_reports", report));
    }
    for (const SensorMapping* family : families)
      for (const auto& [topic, reader] : readers_) against_own(*family, reader);
    for (const std::string& sensor : used_)
      if (!own_.contains(sensor)) among_families(families, sensor);
  }

 private:
  template <class Entry>
  TopicReader reader_of(const char* section, const Entry& entry) const {
    const std::string path = fmt::format("{}.{}", section, path_part(entry.name));
    return {path, draft_.line(path + ".topic"), entry.topic, entry.form};
  }

  void warn(const TopicReader& at, std::string what, std::string remedy) {
    findings_.warnings.push_back({at.line, at.path + ".topic", std::move(what), std::move(remedy)});
  }

  /// Such topics are allowed, and seldom meant.
  void check_signs(const TopicReader& reader) {
    const std::string_view topic = reader.topic;
    if (topic.find_first_of(" \t") != std::string_view::npos)
      warn(reader, fmt::format("{} holds a blank", quoted(topic)),
           "take it out, unless the sender writes it so too");
    else if (topic.size() > 1 && (topic.starts_with('/') || topic.ends_with('/')))
      warn(reader,
           fmt::format("{} {} with /, which makes an empty level there", quoted(topic),
                       topic.starts_with('/') ? "begins" : "ends"),
           "leave it out, unless the sender writes it so too");
  }

  void take(const TopicReader& reader) {
    if (reader.topic.empty()) return;
    const auto [first, is_new] = readers_.try_emplace(reader.topic, reader);
    if (!is_new) compare(reader, first->second);
  }

  void compare(const TopicReader& reader, const TopicReader& other) {
    if (reader.form == other.form || draft_.doubtful(reader.path) || draft_.doubtful(other.path) ||
        !told_.insert(reader.path).second)
      return;
    warn(reader,
         fmt::format("read as {} here, and as {} by {} (line {}): one of them refuses whatever "
                     "is sent",
                     form_word(reader.form), form_word(other.form), other.path, other.line),
         "say form: as the sender writes it in both");
  }

  /// A family passes over topics of sensors that have an entry of their own, and nobody minds one
  /// that no bench uses.
  void against_own(const SensorMapping& family, const TopicReader& reader) {
    if (family.form == reader.form) return;
    std::vector<std::string_view> levels;
    if (!filter_takes(family.topic, reader.topic, &levels)) return;
    const std::string sensor = with_levels(family.name, levels);
    if (!own_.contains(sensor) && used_.contains(sensor))
      compare(reader_of("sensors", family), reader);
  }

  /// Families that give the same sensor from the same topics.
  void among_families(const std::vector<const SensorMapping*>& families,
                      const std::string& sensor) {
    const SensorMapping* first = nullptr;
    for (const SensorMapping* family : families) {
      if (!reaches(*family, sensor)) continue;
      if (first == nullptr)
        first = family;
      else if (family->form != first->form && filters_meet(family->topic, first->topic))
        compare(reader_of("sensors", *family), reader_of("sensors", *first));
    }
  }

  const Draft& draft_;
  Findings& findings_;
  std::set<std::string, std::less<>> used_;          ///< sensors that a bench or a reference names
  std::set<std::string> own_;                        ///< sensors with an entry of their own
  std::map<std::string_view, TopicReader> readers_;  ///< the first of each topic
  std::set<std::string> told_;
};

}  // namespace

void check_topics(const Draft& draft, Findings& findings) { TopicChecks(draft, findings).check(); }

}  // namespace plainwater
