// The file in which sessions outlive the service: beside the store, for its owner alone, replaced
// as a whole.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "common/result.h"
#include "http/sessions.h"

namespace plainwater::http {

class SessionFile {
 public:
  /// Beside the store of this path.
  explicit SessionFile(const std::string& store) : path_(store + ".sessions") {}

  const std::string& path() const { return path_; }
  /// None when there is no file. Error: it is damaged, too large, or not its owner's alone, so that
  /// somebody else may have written it.
  Result<std::vector<Session>> read() const;
  /// What cannot be written is removed instead: a session that was ended must not come back.
  Status write(std::string_view text) const;

 private:
  Status replace(std::string_view text) const;

  const std::string path_;
};

}  // namespace plainwater::http
