// The disk of power_fs: one folder of files, all in memory, whose power a test cuts and restores.
//
// Every file gets a new number after a cut, so that the system's cache of the old file cannot come
// back.
// holds of the file before cannot come back.
#pragma once

#include <sys/types.h>

#include <cstddef>
#include <cstdint>
#include <functional>
#include <map>
#include <memory>
#include <string>
#include <string_view>

#include "cache.h"

namespace plainwater::power {

struct Node : File {
  std::uint64_t number = 0;
  std::string seen;  ///< including unsafe changes
  mode_t mode = 0;
  uid_t user = 0;
  gid_t group = 0;
};

class Disk {
 public:
  explicit Disk(std::uint64_t seed) : lots_(seed) {}

  // Each returns null or false when there is no such file.
  Node* find(const std::string& name) const;
  Node* numbered(std::uint64_t number) const;
  Node& make(const std::string& name, mode_t mode, uid_t user, gid_t group);
  void write(Node& node, std::size_t at, std::string_view bytes);
  void resize(Node& node, std::size_t size);
  void sync(Node& node);
  void sync_folder();
  bool remove(const std::string& name);
  /// Replaces a file with the name `to`.
  bool rename(const std::string& from, const std::string& to);
  void link(const Node& node, const std::string& name);
  const Names& names() const { return folder_.seen; }
  nlink_t links(const Node& node) const;

  /// The power fails in the `changes`th write, truncation, sync or name change from now.
  void cut_in(std::uint64_t changes) { left_ = changes; }
  void cut() { on_ = false; }
  bool on() const { return on_; }
  /// From now on no sync makes anything safe, and a cut keeps only what is safe: for a test of the
  /// tests.
  void forget_syncs() { heeds_syncs_ = false; }
  void power_on();

 private:
  void changed();
  std::shared_ptr<Node> left_of(const File& file);

  Folder folder_;
  std::map<std::uint64_t, std::shared_ptr<Node>> nodes_;  ///< including those without a name
  std::uint64_t last_number_ = 1;                         ///< 1 is the folder
  std::uint64_t left_ = 0;                                ///< changes until the cut; 0: no cut
  bool on_ = true, heeds_syncs_ = true;
  Lots lots_;
};

}  // namespace plainwater::power
