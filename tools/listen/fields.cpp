#include "listen/fields.h"

#include <array>
#include <utility>

#include "common/one_line.h"
#include "intake/payload.h"
#include "intake/senml.h"

namespace plainwater::listen {
namespace {

namespace json = boost::json;

std::string_view view(const json::string& text) { return {text.data(), text.size()}; }

std::string trimmed(std::string_view text) {
  constexpr std::string_view kBlanks = " \t\r\n";
  const auto first = text.find_first_not_of(kBlanks);
  if (first == std::string_view::npos) return {};
  return std::string(text.substr(first, text.find_last_not_of(kBlanks) - first + 1));
}

/// Empty for what cannot be a contact's word.
std::string word_of(std::string_view text) {
  std::string word = trimmed(text);
  if (word.size() > kLongestWord || has_controls(word)) word.clear();
  return word;
}

void read_scalar(const json::value& value, Field& field) {
  if (const auto* text = value.if_string()) field.word = word_of(view(*text));
  if (const bool* yes = value.if_bool()) field.word = *yes ? "true" : "false";
  if (const auto* whole = value.if_int64()) field.word = std::to_string(*whole);
  const auto number = intake::number_of(value);
  if (const double* known = std::get_if<double>(&number)) field.number = *known;
  const auto time = intake::time_of(value);
  if (const Instant* known = std::get_if<Instant>(&time)) {
    field.time = *known;
    field.text_time = value.is_string() && !field.number;
  }
}

std::string escaped(std::string_view key) {
  std::string out;
  for (const char c : key) out += c == '~' ? "~0" : c == '/' ? "~1" : std::string(1, c);
  return out;
}

/// The text of `object`'s member, if it has it.
std::string text_member(const json::object& object, std::string_view key) {
  const json::value* member = object.if_contains({key.data(), key.size()});
  const auto* text = member == nullptr ? nullptr : member->if_string();
  return text == nullptr ? std::string() : word_of(view(*text));
}

/// The unit that stands beside a member of an object.
std::string unit_beside(const json::object& object, std::string_view key) {
  for (const char* ending : {"_unit", "_units", "Unit", "Units", "-unit"})
    if (auto unit = text_member(object, std::string(key) + ending); !unit.empty()) return unit;
  for (const char* name : {"unit", "units", "uom", "u"})
    if (auto unit = text_member(object, name); !unit.empty()) return unit;
  return {};
}

class Walk {
 public:
  explicit Walk(Fields& out) : out_(out) {}

  void object(const json::object& object, const std::string& at, std::size_t depth) {
    for (const auto& member : object) {
      const std::string_view key(member.key().data(), member.key().size());
      step(member.value(), at + "/" + escaped(key), depth, unit_beside(object, key));
    }
  }
  void array(const json::array& items, const std::string& at, std::size_t depth) {
    std::size_t number = 0;
    for (const json::value& item : items)
      step(item, at + "/" + std::to_string(number++), depth, {});
  }

 private:
  void step(const json::value& value, const std::string& at, std::size_t depth,
            const std::string& unit) {
    if (out_.fields.size() >= kMostFields || depth >= kDeepestField || at.size() > kLongestField ||
        has_controls(at)) {
      out_.cut = true;
      return;
    }
    if (const auto* inner = value.if_object()) return object(*inner, at, depth + 1);
    if (const auto* inner = value.if_array()) return array(*inner, at, depth + 1);
    if (value.is_null()) return;
    Field field{.place = at};
    read_scalar(value, field);
    field.unit = unit;
    out_.fields.push_back(std::move(field));
  }

  Fields& out_;
};

bool looks_like_senml(const json::value& document) {
  const auto* records = document.if_array();
  const auto* first =
      records == nullptr || records->empty() ? nullptr : records->front().if_object();
  return first != nullptr && (first->contains("n") || first->contains("bn")) &&
         (first->contains("v") || first->contains("vs") || first->contains("vb") ||
          first->contains("bver") || first->contains("bt") || first->contains("bu") ||
          first->contains("bn"));
}

void read_senml(const json::value& pack, Fields& out) {
  out.form = PayloadForm::senml;
  out.refusal = intake::walk_senml(pack, [&](const intake::SenmlRecord& record) {
    const auto resolved = record.value();
    const auto* known = std::get_if<intake::SenmlValue>(&resolved);
    if (known == nullptr) return;
    const std::string own(record.own_name());
    const bool suffices = record.own_name_suffices() && !own.empty();
    if (out.fields.size() >= kMostFields || record.full_name().size() > kLongestField ||
        record.full_name().empty() || has_controls(record.full_name())) {
      out.cut = true;
      return;
    }
    Field field{.place = suffices ? own : record.full_name()};
    field.number = known->value;
    field.unit = known->unit;
    field.time = known->time;
    field.device = record.full_name().substr(0, record.full_name().size() - own.size());
    out.fields.push_back(std::move(field));
  });
  if (out.refusal) out.fields.clear();
}

}  // namespace

Fields fields_of(std::string_view payload) {
  Fields out;
  intake::Payload read(payload);
  const auto text = read.text();
  if (const auto* refusal = std::get_if<intake::Refusal>(&text)) {
    out.refusal = *refusal;
    return out;
  }
  const auto number = intake::parse_number(payload);
  const std::string word = word_of(payload);
  const bool structured = word.empty() || word.front() == '{' || word.front() == '[';
  if (const double* known = std::get_if<double>(&number)) {
    out.fields.push_back({.number = *known, .word = word});
    return out;
  }
  if (!structured && word.front() != '"') {
    out.fields.push_back({.word = word});
    return out;
  }
  const auto document = read.document();
  if (const auto* refusal = std::get_if<intake::Refusal>(&document)) {
    out.refusal = *refusal;
    return out;
  }
  const json::value& value = *std::get<const json::value*>(document);
  if (looks_like_senml(value)) {
    read_senml(value, out);
    return out;
  }
  out.form = PayloadForm::json;
  if (const auto* object = value.if_object()) Walk(out).object(*object, "", 0);
  if (const auto* array = value.if_array()) Walk(out).array(*array, "", 0);
  return out;
}

std::vector<std::string> pointer_levels(std::string_view pointer) {
  std::vector<std::string> levels;
  for (std::size_t i = 0; i < pointer.size(); ++i) {
    const char c = pointer[i];
    if (c == '/')
      levels.emplace_back();
    else if (levels.empty())
      return {};
    else if (c == '~' && i + 1 < pointer.size())
      levels.back() += pointer[++i] == '1' ? '/' : '~';
    else
      levels.back() += c;
  }
  return levels;
}

}  // namespace plainwater::listen
