#include "disk.h"

#include <algorithm>

namespace plainwater::power {

void Disk::changed() {
  if (left_ > 0 && --left_ == 0) on_ = false;
}

Node* Disk::find(const std::string& name) const {
  const auto found = folder_.seen.find(name);
  return found == folder_.seen.end() ? nullptr : static_cast<Node*>(found->second.get());
}

Node* Disk::numbered(std::uint64_t number) const {
  const auto found = nodes_.find(number);
  return found == nodes_.end() ? nullptr : found->second.get();
}

Node& Disk::make(const std::string& name, mode_t mode, uid_t user, gid_t group) {
  auto node = std::make_shared<Node>();
  node->number = ++last_number_;
  node->mode = mode, node->user = user, node->group = group;
  nodes_[node->number] = node;
  folder_.note({"", name, node});
  changed();
  return *node;
}

void Disk::write(Node& node, std::size_t at, std::string_view bytes) {
  node.unsafe.push_back({false, at, std::string(bytes)});
  change(node.seen, node.unsafe.back());
  changed();
}

void Disk::resize(Node& node, std::size_t size) {
  node.unsafe.push_back({true, size, ""});
  change(node.seen, node.unsafe.back());
  changed();
}

void Disk::sync(Node& node) {
  changed();
  if (on_ && heeds_syncs_) node.make_safe();
}

void Disk::sync_folder() {
  changed();
  if (on_ && heeds_syncs_) folder_.make_safe();
}

bool Disk::remove(const std::string& name) {
  if (find(name) == nullptr) return false;
  folder_.note({name, "", nullptr});
  changed();
  return true;
}

bool Disk::rename(const std::string& from, const std::string& to) {
  const auto found = folder_.seen.find(from);
  if (found == folder_.seen.end()) return false;
  folder_.note({from, to, std::shared_ptr<File>(found->second)});
  changed();
  return true;
}

void Disk::link(const Node& node, const std::string& name) {
  folder_.note({"", name, nodes_.at(node.number)});
  changed();
}

nlink_t Disk::links(const Node& node) const {
  return static_cast<nlink_t>(std::ranges::count_if(
      folder_.seen, [&](const auto& entry) { return entry.second.get() == &node; }));
}

std::shared_ptr<Node> Disk::left_of(const File& file) {
  auto left = std::make_shared<Node>(static_cast<const Node&>(file));
  left->number = ++last_number_;
  left->seen = heeds_syncs_ ? lots_.left_of(file) : file.safe;
  left->safe = left->seen;
  left->unsafe.clear();
  return left;
}

void Disk::power_on() {
  const Names kept = heeds_syncs_ ? lots_.left_of(folder_) : folder_.safe;
  Names names;
  std::map<const File*, std::shared_ptr<Node>> left;  // two names of one file stay that way
  for (const auto& [name, file] : kept) {
    auto& node = left[file.get()];
    if (!node) node = left_of(*file);
    names[name] = node;
  }
  nodes_.clear();
  for (const auto& [before, node] : left) nodes_[node->number] = node;
  folder_ = {names, names, {}};
  left_ = 0;
  on_ = true;
}

}  // namespace plainwater::power
