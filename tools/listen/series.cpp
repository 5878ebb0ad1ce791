#include "listen/series.h"

#include <algorithm>
#include <cmath>
#include <map>

#include "listen/fields.h"

namespace plainwater::listen {
namespace {

constexpr std::size_t kMostWords = 3;

void add(Series& series, const Field& field, const Sample& sample) {
  ++series.messages;
  series.device = field.device;
  if (!field.unit.empty()) series.unit = field.unit;
  if (field.number) series.numbers.push_back(*field.number);
  if (series.words.size() < kMostWords && !field.word.empty()) series.words.insert(field.word);
  if (!field.word.empty()) series.last = field.word;
  if (!field.time) return;
  series.times.push_back(*field.time);
  series.arrivals.push_back(sample.at);
  series.text_time = field.text_time;
}

}  // namespace

double Series::largest_step() const {
  double largest = 0;
  for (std::size_t i = 1; i < numbers.size(); ++i)
    largest = std::max(largest, std::abs(numbers[i] - numbers[i - 1]));
  return largest;
}

bool Series::counts() const {
  if (numbers.size() < 4) return false;
  for (std::size_t i = 0; i < numbers.size(); ++i)
    if (numbers[i] != std::floor(numbers[i]) || (i > 0 && numbers[i] <= numbers[i - 1]))
      return false;
  return true;
}

Observed observe(const Topic& topic) {
  Observed out;
  out.only_retained = topic.live == 0;
  std::vector<std::pair<const Sample*, Fields>> read;
  for (const Sample& sample : topic.samples) {
    // What was kept for an unknown time does not tell how the values go now.
    if (sample.retained && !out.only_retained) continue;
    Fields fields = fields_of(sample.payload);
    out.cut = out.cut || fields.cut;
    if (fields.refusal)
      out.refusal = fields.refusal;
    else
      read.emplace_back(&sample, std::move(fields));
  }
  if (topic.samples.empty() && topic.too_large > 0) out.refusal = intake::Refusal::too_large;
  if (read.empty()) return out;
  out.refusal.reset();
  out.form = read.back().second.form;
  std::map<std::string, std::size_t> places;
  for (const auto& [sample, fields] : read) {
    if (fields.form != out.form) {
      out.mixed = true;
      continue;
    }
    std::set<std::string> seen;  // of two records with one name the first counts
    for (const Field& field : fields.fields) {
      if (!seen.insert(field.place).second) continue;
      const auto [at, fresh] = places.emplace(field.place, out.series.size());
      if (fresh) {
        if (out.series.size() >= 2 * kMostFields) continue;
        out.series.push_back({.place = field.place});
      }
      if (at->second < out.series.size()) add(out.series[at->second], field, *sample);
    }
  }
  return out;
}

}  // namespace plainwater::listen
