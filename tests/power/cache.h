// A disk with a volatile cache: changes that are not safe yet, and what remains of them after a
// power cut. A file is safe after a sync of the file, a name after a sync of the folder. One model
// for two disks: below a single process (tests/unit/store/power_disk.h) and below any process
// (disk.h).
#pragma once

#include <cstddef>
#include <cstdint>
#include <map>
#include <memory>
#include <random>
#include <string>
#include <vector>

namespace plainwater::power {

/// A write, or a truncation.
struct Change {
  bool shortens = false;  ///< a truncation to `at` bytes
  std::size_t at = 0;
  std::string bytes;
};
void change(std::string& content, const Change& by);

struct File {
  std::string safe;
  std::vector<Change> unsafe;

  void make_safe();
};
using Names = std::map<std::string, std::shared_ptr<File>>;

/// One step in the folder: `gone` is removed and `given` names the file, together; either may be
/// empty.
struct NameChange {
  std::string gone, given;
  std::shared_ptr<File> file;
};

struct Folder {
  Names seen, safe;
  std::vector<NameChange> unsafe;

  void note(NameChange change);
  void make_safe();
};

/// Decides at random what a cut keeps, drops and tears: every unsafe change is kept, dropped, or
/// torn at sectors of 512 bytes, in any order.
class Lots {
 public:
  explicit Lots(std::uint64_t seed) : random_(seed) {}

  bool chance(int percent) { return static_cast<int>(random_() % 100) < percent; }
  std::string left_of(const File& file);
  Names left_of(const Folder& folder);

 private:
  void tear(std::string& content, const Change& by);

  std::mt19937_64 random_;
};

}  // namespace plainwater::power
