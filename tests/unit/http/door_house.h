// A door with people whose secrets are in files, and requests as the house's own pages send them.
#pragma once

#include <unistd.h>

#include <catch2/catch.hpp>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <string>
#include <utility>

#include "http/door.h"

namespace plainwater::http {

inline constexpr const char* kInesSecret = "seven damp ferns";
inline constexpr const char* kHouseToken = "tern-bank-0123456789";

/// A folder that is removed at the end.
class Folder {
 public:
  Folder() {
    std::string name = (std::filesystem::temp_directory_path() / "door-XXXXXX").string();
    REQUIRE(::mkdtemp(name.data()) != nullptr);
    path_ = name;
  }
  ~Folder() { std::filesystem::remove_all(path_); }
  Folder(const Folder&) = delete;
  Folder& operator=(const Folder&) = delete;
  std::string file(const std::string& name) const { return (path_ / name).string(); }
  std::string write(const std::string& name, const std::string& text) const {
    std::ofstream(file(name)) << text;
    return file(name);
  }

 private:
  std::filesystem::path path_;
};

/// Settings with ines (care), oskar (keeper) and vera (look); all have the same secret, with salts
/// of their own and the least costs, so that tests are quick.
class DoorHouse {
 public:
  DoorHouse() {
    add("ines", Role::care);
    add("oskar", Role::keeper);
    add("vera", Role::look);
  }
  void add(const std::string& name, Role role, const std::string& secret = kInesSecret) {
    auto hash = hash_of(secret);
    REQUIRE(hash);
    settings.people.push_back({name, folder.write(name, hash->line() + "\n"), role});
  }
  void with_token() { settings.board.token_file = folder.write("token", kHouseToken); }
  Admission admission() const {
    auto read = Admission::of(settings);
    REQUIRE(read);
    return std::move(*read);
  }

  Folder folder;
  Settings settings;
};

inline Request getting(const std::string& target, const std::string& cookies = "") {
  Request request = *read_target(target);
  request.host = "127.0.0.1:8632";
  request.peer = "127.0.0.1";
  request.cookies = cookies;
  return request;
}

inline Request posting(const std::string& target, std::string body,
                       const std::string& cookies = "") {
  Request request = getting(target, cookies);
  request.method = Method::post;
  request.content_type = "application/json";
  request.origin = "http://127.0.0.1:8632";
  request.page_header = "1";
  request.body = std::move(body);
  return request;
}

inline Request signing_in(const std::string& name, const std::string& secret = kInesSecret) {
  return posting("/enter", R"({"name":")" + name + R"(","secret":")" + secret + "\"}");
}

inline std::string field_of(const Answer& answer, std::string_view name) {
  for (const auto& [key, value] : answer.fields)
    if (key == name) return value;
  return {};
}

/// As the keeper of the door does: tries the secret, then asks the door.
inline Door::Verdict after_trial(Door& door, const Request& request, Moment now) {
  auto verdict = door.look(request, now);
  if (verdict.way != Door::Way::try_it) return verdict;
  return door.tried(*verdict.trial, verdict.trial->is_right(), now);
}

/// The cookie that a browser then sends; empty: none was set.
inline std::string cookie_after(const Door::Verdict& verdict) {
  const std::string set = field_of(verdict.answer, "Set-Cookie");
  return set.substr(0, set.find(';'));
}

inline std::string signed_in(Door& door, const std::string& name, Moment now) {
  const auto verdict = after_trial(door, signing_in(name), now);
  REQUIRE(verdict.answer.status == 200);
  return cookie_after(verdict);
}

inline Moment at(std::int64_t second) {
  return {from_seconds(1'790'000'000 + second), seconds(second)};
}

}  // namespace plainwater::http
