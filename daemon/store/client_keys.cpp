#include "store/client_keys.h"

#include <fmt/format.h>
#include <sys/random.h>

#include <cerrno>
#include <cstring>
#include <optional>

#include "store/access.h"
#include "store/rows.h"

namespace plainwater::store {
namespace {

constexpr const char* kOwn = "client_key/";  ///< prefix of keys in `meta`; the instance follows
constexpr const char* kFormer =
    "former_client_key/";  ///< the instance, a slash and the key in hexadecimal follow

std::string own_row(const std::string& instance) { return kOwn + instance; }
std::string former_rows(const std::string& instance) { return kFormer + instance + "/"; }

void add_former(Connection& c, const std::string& instance, std::int64_t key) {
  const auto name = former_rows(instance) + fmt::format("{:016x}", static_cast<std::uint64_t>(key));
  if (!find_meta(c, name.c_str())) add_meta(c, name.c_str(), key);
}

std::optional<ClientKeys> known(Connection& c, const std::string& instance) {
  const auto own = find_meta(c, own_row(instance).c_str());
  if (!own) return std::nullopt;
  ClientKeys keys{static_cast<std::uint64_t>(*own), {}};
  for (const auto& [name, key] : ClientKeyring::rows(c))
    if (name.starts_with(former_rows(instance)))
      keys.former.push_back(static_cast<std::uint64_t>(key));
  return keys;
}

Result<std::int64_t> drawn() {
  std::int64_t key = 0;
  while (key == 0)
    if (::getrandom(&key, sizeof key, 0) != sizeof key && errno != EINTR)
      return Error{std::string("no random number for the client id: ") + std::strerror(errno),
                   "getrandom", "check this machine's kernel"};
  return key;
}

void drop_those_of_others(Connection& c, const std::string& instance) {
  for (const auto& [name, key] : ClientKeyring::rows(c))
    if (!name.starts_with(former_rows(instance))) drop_meta(c, name.c_str());
}

}  // namespace

ClientKeyring::Rows ClientKeyring::rows(Connection& store) {
  Rows found;
  for (const std::string prefix : {kOwn, kFormer}) {
    Use use(store,
            "SELECT key, value FROM meta WHERE substr(key, 1, length(?1)) = ?1 ORDER BY key");
    use.with(prefix.c_str());
    while (use.next()) found.emplace_back(use.text(0), use.integer(1));
  }
  return found;
}

Result<ClientKeys> ClientKeyring::of(const std::string& instance) {
  const auto there = store_->reads().read(
      [&](Connection& c) -> Result<std::optional<ClientKeys>> { return known(c, instance); });
  if (!there) return there.error();
  if (*there) return **there;
  const auto key = drawn();
  if (!key) return key.error();
  return store_->write([&](Connection& c) -> Result<ClientKeys> {
    drop_those_of_others(c, instance);
    add_meta(c, own_row(instance).c_str(), *key);
    if (first_settings(c))
      add_former(c, instance, 0);  // the store was in use before there were keys
    return known(c, instance).value();
  });
}

Result<ClientKeys> ClientKeyring::renew(const std::string& instance) {
  const auto key = drawn();
  if (!key) return key.error();
  return store_->write([&](Connection& c) -> Result<ClientKeys> {
    const auto row = own_row(instance);
    add_former(c, instance, meta(c, row.c_str()));
    set_meta(c, row.c_str(), *key);
    return known(c, instance).value();
  });
}

Status ClientKeyring::forget(const std::string& instance, std::uint64_t former) {
  return store_->write([&](Connection& c) -> Status {
    drop_meta(c, (former_rows(instance) + fmt::format("{:016x}", former)).c_str());
    return Done{};
  });
}

Status ClientKeyring::make_former(const Rows& of_store_before) {
  return store_->write([&](Connection& c) -> Status {
    auto all = rows(c);
    all.insert(all.end(), of_store_before.begin(), of_store_before.end());
    drop_meta(c, kOwn);
    for (const auto& [name, key] : all) {
      const bool own = name.starts_with(kOwn);
      const auto begin = std::strlen(own ? kOwn : kFormer);
      const auto end = own ? name.size() : name.rfind('/');
      if (begin < end) add_former(c, name.substr(begin, end - begin), key);
    }
    return Done{};
  });
}

}  // namespace plainwater::store
