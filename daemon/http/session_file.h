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
  enum class Lost { remove, keep };
  /// What cannot be written is removed instead where sessions have ended, since none may come back.
  /// `keep`: sessions were only used, so that what stands there is still true.
  Status write(std::string_view text, Lost former = Lost::remove) const;

 private:
  Status replace(std::string_view text) const;

  const std::string path_;
};

}  // namespace plainwater::http
