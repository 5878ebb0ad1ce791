// A file system of one folder whose power can be cut, for programs as shipped. It forgets unsynced
// changes, as a disk with a volatile cache does (cache.h).
//
//   power_fs MOUNTPOINT SEED
//
// It prints "mounted", and then takes these lines from its standard input until that ends:
//   cut N    the power fails in the Nth change from now, 0: at once. It prints "cut"; from then on
//            nothing is answered, so that users of the folder wait and can be killed.
//   on       the power returns; waiting requests get an error. It prints "on".
//   forget   syncs no longer count, for a test of the tests. It prints "forgetful".
//
// One request at a time, so that changes happen in the order of asking.
#define FUSE_USE_VERSION 34
#include <fuse_lowlevel.h>
#include <poll.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <charconv>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <string>
#include <vector>

#include "disk.h"

namespace {

using plainwater::power::Disk, plainwater::power::Node;

Disk* disk = nullptr;
std::vector<fuse_req_t> waiting;      ///< until the power returns
constexpr double kNotRemembered = 0;  ///< seconds for which the kernel may answer from its cache

/// `reply` is the answer, unless the power failed in the request.
template <class Reply>
void answer(fuse_req_t request, Reply&& reply) {
  if (disk->on())
    reply();
  else
    waiting.push_back(request);
}

void answer(fuse_req_t request, int error) {
  answer(request, [&] { fuse_reply_err(request, error); });
}

struct stat facts_of_folder() {
  struct stat facts{};
  facts.st_ino = FUSE_ROOT_ID;
  facts.st_mode = S_IFDIR | 0755;
  facts.st_nlink = 2;
  facts.st_uid = getuid(), facts.st_gid = getgid();
  return facts;
}

struct stat facts_of(const Node& node) {
  struct stat facts{};
  facts.st_ino = node.number;
  facts.st_mode = S_IFREG | node.mode;
  facts.st_nlink = disk->links(node);
  facts.st_uid = node.user, facts.st_gid = node.group;
  facts.st_size = static_cast<off_t>(node.seen.size());
  facts.st_blksize = 4096;
  facts.st_blocks = (facts.st_size + 511) / 512;
  return facts;
}

fuse_entry_param entry_of(const Node& node) {
  fuse_entry_param entry{};
  entry.ino = node.number;
  entry.attr = facts_of(node);
  entry.attr_timeout = entry.entry_timeout = kNotRemembered;
  return entry;
}

/// The kernel may cache files: nobody else changes them.
void keep_pages(fuse_file_info* open) { open->keep_cache = 1; }

void started(void*, fuse_conn_info* connection) {
  connection->want &= ~static_cast<unsigned>(FUSE_CAP_AUTO_INVAL_DATA);
}

void look_up(fuse_req_t request, fuse_ino_t, const char* name) {
  const Node* node = disk->find(name);
  if (node == nullptr) return answer(request, ENOENT);
  const auto entry = entry_of(*node);
  fuse_reply_entry(request, &entry);
}

void tell_facts(fuse_req_t request, fuse_ino_t number, fuse_file_info*) {
  const Node* node = disk->numbered(number);
  if (node == nullptr && number != FUSE_ROOT_ID) return answer(request, EIO);
  const auto facts = node == nullptr ? facts_of_folder() : facts_of(*node);
  fuse_reply_attr(request, &facts, kNotRemembered);
}

/// Modes and owners are safe at once, and times are not stored: no test needs them.
void set_facts(fuse_req_t request, fuse_ino_t number, struct stat* wanted, int which,
               fuse_file_info*) {
  Node* node = disk->numbered(number);
  if (node == nullptr) return answer(request, number == FUSE_ROOT_ID ? EPERM : EIO);
  if ((which & FUSE_SET_ATTR_MODE) != 0) node->mode = wanted->st_mode & 07777;
  if ((which & FUSE_SET_ATTR_UID) != 0) node->user = wanted->st_uid;
  if ((which & FUSE_SET_ATTR_GID) != 0) node->group = wanted->st_gid;
  if ((which & FUSE_SET_ATTR_SIZE) != 0)
    disk->resize(*node, static_cast<std::size_t>(wanted->st_size));
  const auto facts = facts_of(*node);
  answer(request, [&] { fuse_reply_attr(request, &facts, kNotRemembered); });
}

void open_file(fuse_req_t request, fuse_ino_t number, fuse_file_info* open) {
  if (disk->numbered(number) == nullptr) return answer(request, EIO);
  keep_pages(open);
  fuse_reply_open(request, open);
}

void create(fuse_req_t request, fuse_ino_t, const char* name, mode_t mode, fuse_file_info* open) {
  if (disk->find(name) != nullptr) return answer(request, EEXIST);
  const auto* who = fuse_req_ctx(request);
  const auto entry = entry_of(disk->make(name, mode & 07777, who->uid, who->gid));
  keep_pages(open);
  answer(request, [&] { fuse_reply_create(request, &entry, open); });
}

void read_file(fuse_req_t request, fuse_ino_t number, std::size_t size, off_t from,
               fuse_file_info*) {
  const Node* node = disk->numbered(number);
  if (node == nullptr) return answer(request, EIO);
  const auto at = std::min(static_cast<std::size_t>(from), node->seen.size());
  fuse_reply_buf(request, node->seen.data() + at, std::min(size, node->seen.size() - at));
}

void write_file(fuse_req_t request, fuse_ino_t number, const char* bytes, std::size_t size,
                off_t at, fuse_file_info*) {
  Node* node = disk->numbered(number);
  if (node == nullptr) return answer(request, EIO);
  disk->write(*node, static_cast<std::size_t>(at), {bytes, size});
  answer(request, [&] { fuse_reply_write(request, size); });
}

void sync_file(fuse_req_t request, fuse_ino_t number, int, fuse_file_info*) {
  Node* node = disk->numbered(number);
  if (node == nullptr) return answer(request, EIO);
  disk->sync(*node);
  answer(request, 0);
}

void sync_folder(fuse_req_t request, fuse_ino_t, int, fuse_file_info*) {
  disk->sync_folder();
  answer(request, 0);
}

void remove_name(fuse_req_t request, fuse_ino_t, const char* name) {
  answer(request, disk->remove(name) ? 0 : ENOENT);
}

void rename_file(fuse_req_t request, fuse_ino_t, const char* from, fuse_ino_t, const char* to,
                 unsigned flags) {
  if (flags != 0) return answer(request, EINVAL);
  answer(request, disk->rename(from, to) ? 0 : ENOENT);
}

void link_file(fuse_req_t request, fuse_ino_t number, fuse_ino_t, const char* name) {
  const Node* node = disk->numbered(number);
  if (node == nullptr) return answer(request, EIO);
  if (disk->find(name) != nullptr) return answer(request, EEXIST);
  disk->link(*node, name);
  const auto entry = entry_of(*node);
  answer(request, [&] { fuse_reply_entry(request, &entry); });
}

void list(fuse_req_t request, fuse_ino_t, std::size_t room, off_t from, fuse_file_info*) {
  std::string text(room, '\0');
  std::size_t used = 0;
  off_t at = 0;
  const auto add = [&](const char* name, const struct stat& facts) {
    if (at++ < from) return true;
    const auto needed =
        fuse_add_direntry(request, text.data() + used, room - used, name, &facts, at);
    if (needed > room - used) return false;
    used += needed;
    return true;
  };
  bool fits = add(".", facts_of_folder()) && add("..", facts_of_folder());
  for (auto next = disk->names().begin(); fits && next != disk->names().end(); ++next)
    fits = add(next->first.c_str(), facts_of(static_cast<const Node&>(*next->second)));
  fuse_reply_buf(request, text.data(), used);
}

void tell_space(fuse_req_t request, fuse_ino_t) {
  struct statvfs space{};
  space.f_bsize = space.f_frsize = 4096;
  space.f_blocks = space.f_bfree = space.f_bavail = 1 << 20;
  space.f_files = space.f_ffree = space.f_favail = 1 << 20;
  space.f_namemax = 255;
  fuse_reply_statfs(request, &space);
}

fuse_lowlevel_ops operations() {
  fuse_lowlevel_ops all{};
  all.init = started;
  all.lookup = look_up;
  all.getattr = tell_facts;
  all.setattr = set_facts;
  all.open = open_file;
  all.create = create;
  all.read = read_file;
  all.write = write_file;
  all.fsync = sync_file;
  all.fsyncdir = sync_folder;
  all.unlink = remove_name;
  all.rename = rename_file;
  all.link = link_file;
  all.readdir = list;
  all.statfs = tell_space;
  return all;  // locks are handled by the kernel
}

void say(const char* what) {
  std::puts(what);
  std::fflush(stdout);
}

void power_on() {
  disk->power_on();
  for (const fuse_req_t request : waiting) fuse_reply_err(request, EIO);
  waiting.clear();
  say("on");
}

/// False: unknown command.
bool obey(const std::string& line) {
  if (line == "on") return power_on(), true;
  if (line == "forget") return disk->forget_syncs(), say("forgetful"), true;
  if (!line.starts_with("cut ")) return false;
  unsigned long changes = 0;
  const char* end = line.data() + line.size();
  if (std::from_chars(line.data() + 4, end, changes).ptr != end) return false;
  if (changes > 0) return disk->cut_in(changes), true;
  if (disk->on()) disk->cut(), say("cut");
  return true;
}

/// Reads and obeys each whole line; false at the end of the input.
bool hear(std::string& begun) {
  char bytes[256];
  const ssize_t count = ::read(STDIN_FILENO, bytes, sizeof bytes);
  if (count <= 0) return false;
  begun.append(bytes, static_cast<std::size_t>(count));
  for (std::size_t end; (end = begun.find('\n')) != std::string::npos; begun.erase(0, end + 1)) {
    if (obey(begun.substr(0, end))) continue;
    std::fprintf(stderr, "power_fs: not understood: %s\n", begun.substr(0, end).c_str());
    return false;
  }
  return true;
}

/// False when the folder was unmounted.
bool serve(fuse_session* session, fuse_buf& buffer) {
  const int size = fuse_session_receive_buf(session, &buffer);
  if (size == -EINTR || size == -EAGAIN) return true;
  if (size <= 0) return false;
  fuse_session_process_buf(session, &buffer);
  if (!disk->on()) say("cut");
  return fuse_session_exited(session) == 0;
}

void run(fuse_session* session) {
  fuse_buf buffer{};
  std::string begun;
  for (;;) {
    // Ignored without power: poll skips a negative descriptor.
    pollfd sources[] = {{STDIN_FILENO, POLLIN, 0},
                        {disk->on() ? fuse_session_fd(session) : -1, POLLIN, 0}};
    if (::poll(sources, 2, -1) < 0 && errno != EINTR) break;
    if (sources[0].revents != 0 && !hear(begun)) break;
    if (sources[1].revents != 0 && disk->on() && !serve(session, buffer)) break;
  }
  for (const fuse_req_t request : waiting) fuse_reply_err(request, EIO);
  std::free(buffer.mem);
}

}  // namespace

int main(int count, char** arguments) {
  std::uint64_t seed = 0;
  if (count != 3) return std::fputs("usage: power_fs MOUNTPOINT SEED\n", stderr), 2;
  const char* end = arguments[2] + std::strlen(arguments[2]);
  if (std::from_chars(arguments[2], end, seed).ptr != end)
    return std::fputs("power_fs: the seed must be a whole number\n", stderr), 2;
  Disk made(seed);
  disk = &made;
  char* options[] = {arguments[0], nullptr};
  fuse_args given = FUSE_ARGS_INIT(1, options);
  const auto known = operations();
  fuse_session* session = fuse_session_new(&given, &known, sizeof known, nullptr);
  fuse_opt_free_args(&given);
  if (session == nullptr || fuse_session_mount(session, arguments[1]) != 0) {
    std::fputs("power_fs: cannot mount: this needs /dev/fuse and the right to mount\n", stderr);
    return 1;
  }
  say("mounted");
  run(session);
  fuse_session_unmount(session);
  fuse_session_destroy(session);
  return 0;
}
