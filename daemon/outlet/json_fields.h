// Reading the fields of one JSON object that came over the wire: strict about kinds and ranges, and
// the first fault, with its field by name, stays.
#pragma once

#include <boost/json/object.hpp>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "common/instant.h"
#include "words/render.h"

namespace plainwater::outlet {

/// Characters of any text field that has no narrower bound.
inline constexpr std::size_t kLongestText = 500;

/// Where an object comes from: what was taken once is read back from our own record, even if it
/// would be refused today.
enum class Source { wire, record };

struct FieldFault {
  std::string problem;   ///< stable word: "missing-field", "unknown-field", "bad-value"
  words::Sentence said;  ///< without a full stop
  std::string text() const { return words::in_english(said); }
};

struct NumberRange {
  double least = 0, most = 0;
  bool above_least = false;  ///< `least` itself is too little
};

class JsonFields {
 public:
  /// `what` is what the object is, for people: "the request". The object must outlive this.
  JsonFields(const boost::json::object& object, words::Sentence what, Source source = Source::wire)
      : object_(object), what_(std::move(what)), source_(source) {}

  /// Without control characters, at most `most` characters long, and not empty when needed; empty
  /// when it is absent.
  std::string text(std::string_view key, bool needed, std::size_t most = kLongestText);
  /// The same for what people write at length: its line breaks and tabs become spaces. When
  /// needed it is more than spaces.
  std::string prose(std::string_view key, bool needed = false);
  /// RFC 3339.
  std::optional<Instant> time(std::string_view key, bool needed);
  /// A JSON number, rounded to 1e-6.
  std::optional<double> number(std::string_view key, bool needed, const NumberRange& range);
  /// A whole JSON number from 0 on that every JSON reader takes exactly.
  std::optional<std::int64_t> count(std::string_view key);
  bool flag(std::string_view key, bool otherwise = false);
  /// Whether it is there, whatever its value.
  bool has(std::string_view key) const { return object_.contains({key.data(), key.size()}); }

  void fail(std::string problem, words::Sentence why);
  const std::optional<FieldFault>& fault() const { return fault_; }

 private:
  const boost::json::value* find(std::string_view key, bool needed);
  std::string read(std::string_view key, bool needed);
  std::string judged(std::string text, std::string_view key, std::size_t most);

  const boost::json::object& object_;
  words::Sentence what_;
  Source source_;
  std::optional<FieldFault> fault_;
};

/// A number with at most six decimals and no zeros behind them: what `JsonFields::number` reads
/// comes back equal.
std::string plain_number(double value);

}  // namespace plainwater::outlet
