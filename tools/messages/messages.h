// Checks messages against what the topics promise: by the schemas, by the service's own readers,
// and by the settings if given.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <string_view>

#include "intake/catalogue.h"
#include "messages/schemas.h"
#include "settings/settings.h"

namespace plainwater::tool {

enum class Verdict : std::uint8_t {
  valid,
  wrong,
  unknown,  ///< a foreign topic: mentioned, but not a fault
};

struct Judged {
  Verdict verdict = Verdict::valid;
  SchemaFault fault{};  ///< set unless it is valid
};

class MessageCheck {
 public:
  /// `settings` may be null: then any root and site will do, and sensors are unknown.
  explicit MessageCheck(std::shared_ptr<const Settings> settings);
  Judged judge(std::string_view topic, std::string_view payload) const;

 private:
  Judged of_settings(std::string_view topic, std::string_view payload) const;

  std::shared_ptr<const Settings> settings_;
  std::optional<intake::Catalogue> catalogue_;
};

}  // namespace plainwater::tool
