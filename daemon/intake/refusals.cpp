#include "intake/refusals.h"

#include <numeric>

namespace plainwater::intake {
namespace {

struct Words {
  const char* name;
  const char* remedy;
};

constexpr std::array<Words, kRefusals> kWords{{
    {"too-large", "send one reading, or a few, in a message of at most 64 KiB"},
    {"not-utf8",
     "send plain UTF-8 text; a device that sends packed bytes needs a converter before the broker"},
    {"not-json",
     "the mapping expects JSON: check the device's format, or map the topic with another form"},
    {"too-deep", "send JSON that is nested at most 16 deep"},
    {"not-senml",
     "send an array of SenML records of version 10 or older, without extensions that must be "
     "understood"},
    {"missing-field", "compare the names that the mapping gives with those in the payload"},
    {"not-a-number", "send a number with a decimal point and no unit, such as 21.4"},
    {"not-finite", "the device sent no real number; check its sensor and cable"},
    {"bad-time",
     "send the time as RFC 3339 text or as seconds since 1970, and set the device's clock"},
    {"bad-unit",
     "use Cel or K for temperature and %RH for humidity; of doses l or m3, S/m for EC and %, / or "
     "/100 for strength"},
    {"out-of-domain",
     "no air, water or dose is like that: check the mapping's unit, scale and offset, then the "
     "device"},
    {"unmapped-topic",
     "give the topic a mapping and its sensor a bench, or stop the device from sending there"},
    {"untimed-before-fence",
     "let the device send its own time, so that readings kept by the broker can be used"},
    {"untimed-retained", "let the device send without the retain flag, or with its own time"},
    {"untimed-duplicate",
     "let the device send its own time, so that redelivered readings can be used"},
    {"future", "set the device's clock, and check the clock of this machine"},
    {"out-of-range",
     "no air here is like that: check the mapping's unit, scale and offset, then the sensor and "
     "its "
     "cable; of temperatures also sensor_watch.lowest and highest"},
    {"unknown-word",
     "compare the mapping's outdoors_word and indoors_word with what the contact sends, letter by "
     "letter"},
}};

constexpr std::size_t at(Refusal reason) { return static_cast<std::size_t>(reason); }

}  // namespace

const char* name_of(Refusal reason) { return kWords[at(reason)].name; }
const char* remedy(Refusal reason) { return kWords[at(reason)].remedy; }

bool Refusals::count(Refusal reason, std::string_view topic) {
  const std::lock_guard lock(mutex_);
  const bool first_of_reason = totals_[at(reason)]++ == 0;
  const bool remembered = seen_.size() < kRememberedTopics && seen_.emplace(reason, topic).second;
  return first_of_reason || remembered;
}

void Refusals::add(const Refusals& before) {
  const std::scoped_lock both(mutex_, before.mutex_);
  for (std::size_t i = 0; i < kRefusals; ++i) totals_[i] += before.totals_[i];
}

std::uint64_t Refusals::total(Refusal reason) const {
  const std::lock_guard lock(mutex_);
  return totals_[at(reason)];
}

std::uint64_t Refusals::total() const {
  const std::lock_guard lock(mutex_);
  return std::accumulate(totals_.begin(), totals_.end(), std::uint64_t{0});
}

}  // namespace plainwater::intake
