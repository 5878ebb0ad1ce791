#include "cache.h"

#include <algorithm>
#include <utility>

namespace plainwater::power {
namespace {

constexpr std::size_t kSector = 512;

void rename_in(Names& names, const NameChange& c) {
  if (!c.gone.empty() && names.erase(c.gone) == 0 && !c.given.empty()) return;
  if (!c.given.empty()) names[c.given] = c.file;
}

}  // namespace

void change(std::string& content, const Change& by) {
  if (by.shortens) {
    content.resize(by.at);
    return;
  }
  if (content.size() < by.at + by.bytes.size()) content.resize(by.at + by.bytes.size());
  content.replace(by.at, by.bytes.size(), by.bytes);
}

void File::make_safe() {
  for (const Change& c : unsafe) change(safe, c);
  unsafe.clear();
}

void Folder::note(NameChange change) {
  rename_in(seen, change);
  unsafe.push_back(std::move(change));
}

void Folder::make_safe() {
  safe = seen;
  unsafe.clear();
}

/// Sector by sector: written, not written, or garbage where the power failed during the write.
void Lots::tear(std::string& content, const Change& by) {
  bool spoilt = false;
  for (std::size_t at = by.at, end = by.at + by.bytes.size(); at < end;) {
    const std::size_t next = std::min((at / kSector + 1) * kSector, end);
    Change part{false, at, by.bytes.substr(at - by.at, next - at)};
    if (!spoilt && chance(10)) {
      spoilt = true;
      for (char& byte : part.bytes) byte = static_cast<char>(random_());
      change(content, part);
    } else if (chance(50)) {
      change(content, part);
    } else if (content.size() < next && chance(50)) {
      content.resize(next);  // the length was safe, the bytes not
    }
    at = next;
  }
}

std::string Lots::left_of(const File& file) {
  std::string content = file.safe;
  const int lot = static_cast<int>(random_() % 5);
  if (lot == 0) return content;
  auto changes = file.unsafe;
  if (lot >= 2 && chance(40)) std::ranges::shuffle(changes, random_);
  for (const Change& c : changes) {
    if (lot == 1 || chance(50))
      change(content, c);
    else if (!c.shortens && chance(50))
      tear(content, c);
  }
  return content;
}

Names Lots::left_of(const Folder& folder) {
  Names names = folder.safe;
  const int lot = static_cast<int>(random_() % 4);
  const std::size_t first = folder.unsafe.empty() ? 0 : random_() % (folder.unsafe.size() + 1);
  for (std::size_t i = 0; i < folder.unsafe.size(); ++i) {
    const bool kept = lot == 0 ? false : lot == 1 ? true : lot == 2 ? i < first : chance(50);
    if (kept) rename_in(names, folder.unsafe[i]);
  }
  return names;
}

}  // namespace plainwater::power
