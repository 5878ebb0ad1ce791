#include "settings/difference.h"

#include <algorithm>
#include <array>
#include <map>
#include <set>
#include <string_view>
#include <utility>

#include "settings/values.h"

namespace plainwater {
namespace {

std::string entry_of(const Value& value) {
  std::string path(value.section);
  if (!value.entry.empty()) (path += '.') += value.entry;
  return path;
}

std::string key_of(const Value& value) { return entry_of(value) + '.' + std::string(value.key); }

struct Flat {
  explicit Flat(const Settings& settings) : values(values_of(settings)) {
    for (const Value& value : values) {
      by_key[key_of(value)] = &value;
      entries.insert(entry_of(value));
    }
  }
  const std::vector<Value> values;
  std::map<std::string, const Value*> by_key;
  std::set<std::string> entries;
};

/// Entries of `of` that `in` lacks, in the file's order.
void add_missing(const Flat& of, const Flat& in, Change::Kind kind, std::vector<Change>& out) {
  for (const Value& value : of.values)
    if (const std::string entry = entry_of(value);
        !in.entries.contains(entry) && (out.empty() || out.back().key != entry))
      out.push_back({kind, entry, "", ""});
    else if (!in.entries.contains(entry) && value.key == "was" && kind == Change::Kind::added &&
             value.yaml.size() > 2)
      out.back().before = value.yaml.substr(1, value.yaml.size() - 2);  // without its brackets
}

constexpr std::array<std::string_view, 9> kFixed = {
    "broker.url",  "board.listen", "metrics.listen",   "site.name", "broker.instance",
    "broker.root", "store.path",   "store.durability", "clock.time"};

}  // namespace

std::vector<Change> difference(const Settings& before, const Settings& after) {
  const Flat then(before), now(after);
  std::vector<Change> out;
  add_missing(now, then, Change::Kind::added, out);
  add_missing(then, now, Change::Kind::removed, out);
  for (const Value& value : now.values) {
    const auto former = then.by_key.find(key_of(value));
    if (former == then.by_key.end() || former->second->yaml == value.yaml) continue;
    out.push_back({Change::Kind::value, former->first, former->second->yaml, value.yaml});
  }
  return out;
}

std::string message(const Change& change) {
  const auto shown = [](const std::string& yaml) { return yaml.empty() ? "nothing" : yaml; };
  switch (change.kind) {
    case Change::Kind::added:
      return change.key + ": new" + (change.before.empty() ? "" : ", was " + change.before);
    case Change::Kind::removed: return change.key + ": gone";
    case Change::Kind::value: break;
  }
  return change.key + ": " + shown(change.after) + ", was " + shown(change.before);
}

std::string needs_restart(const Settings& before, const Settings& after) {
  for (const Change& change : difference(before, after))
    if (std::ranges::find(kFixed, change.key) != kFixed.end()) return change.key;
  return {};
}

}  // namespace plainwater
