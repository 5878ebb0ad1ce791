#include "listen/source.h"

#include <fmt/format.h>

#include <algorithm>

#include "common/quoted.h"
#include "listen/fields.h"
#include "listen/own_time.h"

namespace plainwater::listen {
namespace {

constexpr double kJump_c = 10;  ///< between two readings: more than air does within minutes

/// Fields that make up one sensor; -1: none.
struct Parts {
  int temperature = -1, humidity = -1, contact = -1;
};

const char* word_of(Unit unit) {
  return unit == Unit::celsius ? "celsius" : unit == Unit::fahrenheit ? "fahrenheit" : "kelvin";
}
const char* sign_of(Unit unit) {
  return unit == Unit::celsius ? "°C" : unit == Unit::fahrenheit ? "°F" : "K";
}

class Builder {
 public:
  Builder(const Watched& topic, std::optional<double> others_c)
      : topic_(topic), others_c_(others_c) {}

  std::vector<Source> sources() {
    const std::vector<Parts> found = parts();
    std::vector<Source> out;
    for (const Parts& parts : found) {
      out.push_back(source(parts));
      if (found.size() > 1) out.back().device = device_of(parts);
    }
    return out;
  }

 private:
  const Series& series(int at) const {
    return topic_.observed.series[static_cast<std::size_t>(at)];
  }
  const Judged& judged(int at) const { return topic_.judged[static_cast<std::size_t>(at)]; }

  std::optional<TemperatureUnit> unit_of(int at) const {
    if (const auto unit = temperature_unit(series(at).numbers, judged(at).told, others_c_))
      return unit;
    // The unit of a SenML record is believed live, whatever the entry says.
    const bool may_differ = topic_.observed.form != PayloadForm::senml || series(at).unit.empty();
    auto other = judged(at).told && may_differ
                     ? temperature_unit(series(at).numbers, std::nullopt, others_c_)
                     : std::nullopt;
    if (other) other->sure = Sure::doubtful;
    return other;
  }
  std::optional<HumidityUnit> humidity_of(int at) const {
    return humidity_unit(series(at).numbers, judged(at).percent, judged(at).fraction);
  }

  bool usable(int at) const {
    const Judged& what = judged(at);
    if (what.meaning == Meaning::contact)
      return topic_.observed.form != PayloadForm::senml &&
             contact_words(series(at).words).has_value();
    if (!what.not_of_air.empty() || series(at).counts()) return false;
    const std::string& unit = series(at).unit;
    const bool senml = topic_.observed.form == PayloadForm::senml && !unit.empty();
    if (what.meaning == Meaning::temperature)
      return unit_of(at) && (!senml || unit == "Cel" || unit == "K");
    return what.meaning == Meaning::humidity && humidity_of(at) && (!senml || unit == "%RH");
  }

  std::vector<Parts> parts() const {
    std::vector<int> temperatures, humidities, contacts;
    for (int i = 0; i < static_cast<int>(topic_.judged.size()); ++i) {
      if (!usable(i)) continue;
      const Meaning meaning = judged(i).meaning;
      (meaning == Meaning::temperature ? temperatures
       : meaning == Meaning::humidity  ? humidities
                                       : contacts)
          .push_back(i);
    }
    std::vector<Parts> out;
    const bool one = temperatures.size() == 1 && humidities.size() == 1;
    for (const int at : temperatures) {
      Parts parts{.temperature = at};
      const auto mate = std::find_if(humidities.begin(), humidities.end(), [&](int humidity) {
        return one || (judged(humidity).group == judged(at).group && alone(temperatures, at) &&
                       alone(humidities, humidity));
      });
      if (mate != humidities.end()) {
        parts.humidity = *mate;
        humidities.erase(mate);
      }
      out.push_back(parts);
    }
    for (const int at : humidities) out.push_back({.humidity = at});
    for (const int at : contacts) out.push_back({.contact = at});
    return out;
  }

  /// The only one of its group.
  bool alone(const std::vector<int>& of, int at) const {
    return std::count_if(of.begin(), of.end(),
                         [&](int other) { return judged(other).group == judged(at).group; }) == 1;
  }

  std::string device_of(const Parts& parts) const {
    const int at = parts.temperature >= 0 ? parts.temperature
                   : parts.humidity >= 0  ? parts.humidity
                                          : parts.contact;
    const std::string& group = judged(at).group;
    if (parts.temperature >= 0 && parts.humidity >= 0 && !group.empty()) return group;
    return series(at).place;
  }

  Source source(const Parts& parts) {
    Source out;
    out.entry.topic = topic_.name;
    out.entry.form = topic_.observed.form;
    out.interval = topic_.topic->interval();
    out.messages = topic_.topic->live + topic_.topic->retained;
    out.only_retained = topic_.observed.only_retained;
    if (parts.temperature >= 0) add_temperature(parts.temperature, out);
    if (parts.humidity >= 0) add_humidity(parts.humidity, out);
    if (parts.contact >= 0) add_contact(parts.contact, out);
    if (out.entry.form == PayloadForm::json) add_time(parts, out);
    if (out.only_retained)
      out.doubts.push_back(
          {"", "only a message that the broker had kept was heard: does it still send?"});
    else if (out.messages == 1)
      out.doubts.push_back({"", "only one message was heard"});
    if (topic_.observed.cut)
      out.doubts.push_back(
          {"", fmt::format("more is in its messages: the first {} fields, to a depth of {}, were "
                           "looked at",
                           kMostFields, kDeepestField)});
    if (topic_.observed.mixed)
      out.doubts.push_back({"form", "messages of another form came as well, and would be refused"});
    return out;
  }

  void add_temperature(int at, Source& out) const {
    const Series& sent = series(at);
    const Judged& what = judged(at);
    const TemperatureUnit unit = *unit_of(at);
    out.sure = what.sure;
    out.unit_sure = unit.sure;
    out.entry.temperature = sent.place;
    out.entry.quantity = Quantity::temperature;
    out.entry.unit = unit.chosen.unit;
    out.entry.scale = unit.chosen.scale;
    out.number = sent.numbers.back();
    out.celsius = unit.chosen.celsius(out.number);
    out.last = fmt::format("{:.1f} °C", *out.celsius);
    if (what.told && *what.told != unit.chosen.unit)
      out.doubts.push_back({"unit", fmt::format("it says {}, but {:g} {} is no air: taken as {}",
                                                sign_of(*what.told), out.number,
                                                sign_of(*what.told), in_words(unit.chosen))});
    else if (unit.other)
      out.doubts.push_back(
          {"unit",
           fmt::format("{:g} is taken as {} ({:.1f} °C); if it is {} ({:.1f} °C), write {}",
                       out.number, in_words(unit.chosen), *out.celsius, in_words(*unit.other),
                       unit.other->celsius(out.number), as_keys(*unit.other))});
    else if (!what.told && !(unit.chosen == Reckoned{}))
      out.doubts.push_back({"unit", fmt::format("by its range: {:g} is taken as {}, {:.1f} °C",
                                                out.number, in_words(unit.chosen), *out.celsius)});
    if (!sent.unit.empty() && !read_unit(sent.unit).known())
      out.doubts.push_back(
          {"unit", fmt::format("its unit {} is not known here", quoted(sent.unit))});
    if (what.by_number_alone)
      out.doubts.push_back({"", "by its numbers alone: nothing in its name says temperature"});
    const double jump = sent.largest_step() * unit.chosen.scale;
    if ((unit.chosen.unit == Unit::fahrenheit ? jump / 1.8 : jump) > kJump_c)
      out.doubts.push_back({"", "it jumps from one message to the next as no air does"});
  }

  void add_humidity(int at, Source& out) const {
    const Series& sent = series(at);
    const Judged& what = judged(at);
    const HumidityUnit unit = *humidity_of(at);
    const double value = sent.numbers.back() * unit.scale;
    const bool alone = out.last.empty();
    out.sure = alone ? what.sure : std::max(out.sure, what.sure);
    if (alone) {
      out.entry.quantity =
          out.entry.form == PayloadForm::number ? Quantity::humidity : Quantity::temperature;
      out.number = sent.numbers.back();
      out.unit_sure = unit.sure;
    }
    out.entry.humidity = sent.place;
    out.entry.humidity_scale = unit.scale;
    out.last += fmt::format("{}{:.0f} %RH", alone ? "" : ", ", value);
    if (unit.sure != Sure::sure)
      out.doubts.push_back(
          {"humidity_scale",
           fmt::format("{:g} is taken as {:g} %RH: is that the air?", sent.numbers.back(), value)});
    else if (unit.scale != 1)
      out.doubts.push_back({"humidity_scale", fmt::format("by its range: {:g} is taken as {:g} %RH",
                                                          sent.numbers.back(), value)});
    if (what.by_number_alone)
      out.doubts.push_back({"", "by its numbers alone: nothing in its name says humidity"});
  }

  void add_contact(int at, Source& out) const {
    const ContactWords words = *contact_words(series(at).words);
    out.sure = judged(at).sure;
    out.entry.quantity =
        out.entry.form == PayloadForm::number ? Quantity::place : Quantity::temperature;
    out.entry.place = series(at).place;
    out.entry.outdoors_word = words.outdoors;
    out.entry.indoors_word = words.indoors;
    out.last = series(at).last;
    out.unit_sure = words.said ? Sure::sure : Sure::doubtful;
    if (!words.said)
      out.doubts.push_back(
          {"outdoors_word",
           fmt::format(
               "{} is taken to mean that the bench is outdoors; if {} does, exchange them{}",
               words.outdoors, words.indoors,
               words.both_heard ? "" : ". Only one of the two was heard")});
  }

  void add_time(const Parts& parts, Source& out) const {
    const int at = parts.temperature >= 0 ? parts.temperature
                   : parts.humidity >= 0  ? parts.humidity
                                          : parts.contact;
    const OwnTime time = own_time(topic_.observed, topic_.judged, judged(at).group);
    out.entry.time = time.place;
    out.late_time = time.late;
    if (!time.late.empty()) out.doubts.push_back({"time", time.why});
  }

  const Watched& topic_;
  const std::optional<double> others_c_;
};

}  // namespace

std::string in_words(const Reckoned& reckoned) {
  const std::string sign = sign_of(reckoned.unit);
  if (reckoned.scale == 0.1) return "tenths of a " + sign;
  if (reckoned.scale == 0.01) return "hundredths of a " + sign;
  if (reckoned.scale == 0.001) return "thousandths of a " + sign;
  return sign;
}

std::string as_keys(const Reckoned& reckoned) {
  return fmt::format("unit: {}{}", word_of(reckoned.unit),
                     reckoned.scale == 1 ? "" : fmt::format(" and scale: {:g}", reckoned.scale));
}

std::vector<Source> sources_of(const Watched& topic, std::optional<double> others_c) {
  return Builder(topic, others_c).sources();
}

}  // namespace plainwater::listen
