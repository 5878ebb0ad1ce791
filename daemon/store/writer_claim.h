// Only one process, and in it one Store, may write a store: two would each decide on half of the
// inputs.
#pragma once

#include <filesystem>
#include <memory>
#include <optional>
#include <utility>

#include "common/result.h"

namespace plainwater::store {

/// Held as long as this object lives; a killed process loses it automatically.
class WriterClaim {
 public:
  /// Makes the file (mode 0640) if needed. `taken`: the error while another one has it; without,
  /// that of a service.
  static Result<std::unique_ptr<WriterClaim>> take(const std::filesystem::path& path,
                                                   const std::optional<Error>& taken = {});
  ~WriterClaim();
  WriterClaim(const WriterClaim&) = delete;
  WriterClaim& operator=(const WriterClaim&) = delete;

 private:
  using FileKey = std::pair<unsigned long, unsigned long>;  ///< device, inode
  WriterClaim(int file, FileKey key) : file_(file), key_(key) {}

  int file_;
  FileKey key_;
};

}  // namespace plainwater::store
