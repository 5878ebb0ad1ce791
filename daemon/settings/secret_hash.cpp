#include "settings/secret_hash.h"

#include <fmt/format.h>
#include <openssl/crypto.h>
#include <openssl/evp.h>
#include <openssl/rand.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <optional>

#include "settings/scalar.h"
#include "settings/secret.h"

namespace plainwater {
namespace {

constexpr std::size_t kKeyBytes = 32, kSaltBytes = 16, kLongestLine = 300;
constexpr std::string_view kBase64 =
    "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
/// Without 0 and o, 1, i and l, u and v.
constexpr std::string_view kPlain = "abcdefghjkmnpqrstwxyz23456789";

const unsigned char* bytes(std::string_view text) {
  return reinterpret_cast<const unsigned char*>(text.data());
}

std::string base64(std::string_view text) {
  std::string out;
  unsigned held = 0;
  int bits = 0;
  for (const char letter : text) {
    held = held << 8 | static_cast<unsigned char>(letter);
    for (bits += 8; bits >= 6;) out += kBase64[held >> (bits -= 6) & 63];
  }
  if (bits > 0) out += kBase64[held << (6 - bits) & 63];
  return out;
}

std::optional<std::string> unbase64(std::string_view text) {
  std::string out;
  unsigned held = 0;
  int bits = 0;
  for (const char letter : text) {
    const auto value = kBase64.find(letter);
    if (value == std::string_view::npos) return std::nullopt;
    held = (held << 6 | static_cast<unsigned>(value)) & 0xffff;
    if ((bits += 6) >= 8) out += static_cast<char>(held >> (bits -= 8) & 255);
  }
  // One way to write it: no letter too many, no bits behind the end.
  if (bits >= 6 || (held & ((1U << bits) - 1)) != 0) return std::nullopt;
  return out;
}

/// The number behind `name`, which it begins with; taken off.
std::optional<int> take_number(std::string_view& text, std::string_view name) {
  if (!text.starts_with(name)) return std::nullopt;
  text.remove_prefix(name.size());
  int number = 0;
  const auto end = std::from_chars(text.data(), text.data() + text.size(), number);
  if (end.ec != std::errc() || text.front() == '-') return std::nullopt;
  text.remove_prefix(static_cast<std::size_t>(end.ptr - text.data()));
  return number;
}

std::string scrypt(const SecretHash& hash, std::string_view secret) {
  std::string key(kKeyBytes, '\0');
  constexpr std::uint64_t kMostMemory = 300ULL << 20;
  const int done = EVP_PBE_scrypt(secret.data(), secret.size(), bytes(hash.salt), hash.salt.size(),
                                  1ULL << hash.log2_n, static_cast<std::uint64_t>(hash.r),
                                  static_cast<std::uint64_t>(hash.p), kMostMemory,
                                  reinterpret_cast<unsigned char*>(key.data()), key.size());
  return done == 1 ? key : std::string();
}

std::optional<SecretHash> parsed(std::string_view line) {
  SecretHash hash;
  const auto n = take_number(line, "$scrypt$ln="), r = take_number(line, ",r="),
             p = take_number(line, ",p=");
  if (!n || !r || !p || !line.starts_with('$')) return std::nullopt;
  line.remove_prefix(1);
  const auto middle = line.find('$');
  if (middle == std::string_view::npos) return std::nullopt;
  auto salt = unbase64(line.substr(0, middle)), key = unbase64(line.substr(middle + 1));
  if (!salt || !key) return std::nullopt;
  return SecretHash{*n, *r, *p, std::move(*salt), std::move(*key)};
}

bool is_bounded(const SecretHash& hash) {
  return hash.log2_n >= 14 && hash.log2_n <= 18 && hash.r >= 1 && hash.r <= 16 && hash.p >= 1 &&
         hash.p <= 4 && hash.r << hash.log2_n <= 8 << 18 && hash.salt.size() >= kSaltBytes &&
         hash.salt.size() <= 64 && hash.key.size() == kKeyBytes;
}

constexpr const char* kAnew = "make it anew with plainwater person add NAME --replace";

}  // namespace

std::string SecretHash::line() const {
  return fmt::format("$scrypt$ln={},r={},p={}${}${}", log2_n, r, p, base64(salt), base64(key));
}

Result<SecretHash> hash_of(std::string_view secret) {
  constexpr const char* kBetter =
      "take a few words that nobody would guess, or let --generate make one";
  if (!is_text(secret) || std::ranges::any_of(secret, [](unsigned char letter) {
        return letter < 0x20 || letter == 0x7f;
      }))
    return Error{"the secret is no UTF-8 text without control characters", "", kBetter};
  const auto letters =
      std::ranges::count_if(secret, [](unsigned char letter) { return (letter & 0xc0) != 0x80; });
  if (static_cast<std::size_t>(letters) < kShortestSecret)
    return Error{fmt::format("the secret has {} characters and could be guessed; it needs {}",
                             letters, kShortestSecret),
                 "", kBetter};
  if (secret.size() > kLongestSecret)
    return Error{
        fmt::format("the secret has {} bytes; at most {} are taken", secret.size(), kLongestSecret),
        "", kBetter};
  SecretHash hash;
  hash.salt.resize(kSaltBytes);
  if (RAND_bytes(reinterpret_cast<unsigned char*>(hash.salt.data()), kSaltBytes) != 1)
    return Error{"this machine gives no random bytes", "", "try again"};
  hash.key = scrypt(hash, secret);
  if (hash.key.empty())
    return Error{"the secret could not be hashed", "", "32 MiB of memory must be free"};
  return hash;
}

SecretHash nobodys_hash(const SecretHash& like) {
  SecretHash hash = like;
  hash.salt.assign(kSaltBytes, 'n');
  hash.key.assign(kKeyBytes, '\0');
  return hash;
}

Result<SecretHash> read_hash_line(std::string_view line) {
  if (line.empty()) return Error{"holds nothing", "", kAnew};
  if (line.size() > kLongestLine || !line.starts_with("$scrypt$"))
    return Error{"holds no hash of a secret; a secret itself must not stand there", "", kAnew};
  auto hash = parsed(line);
  if (!hash) return Error{"holds a hash that is damaged", "", kAnew};
  if (!is_bounded(*hash))
    return Error{"holds a hash whose costs or sizes are out of their bounds", "", kAnew};
  return std::move(*hash);
}

Result<SecretHash> read_hash_file(const std::string& path) {
  const auto line = read_secret(path, "the file of a person's secret");
  if (!line) return line.error();
  auto hash = read_hash_line(*line);
  if (!hash) return Error{hash.error().what, path, hash.error().remedy};
  return hash;
}

bool fits(const SecretHash& hash, std::string_view secret) {
  const std::string key = scrypt(hash, secret);
  return key.size() == kKeyBytes && hash.key.size() == kKeyBytes &&
         CRYPTO_memcmp(key.data(), hash.key.data(), kKeyBytes) == 0;
}

std::string fresh_secret() {
  std::string secret;
  while (secret.size() < 23) {
    if (secret.size() % 4 == 3) {
      secret += '-';
      continue;
    }
    unsigned char byte = 0;
    if (RAND_bytes(&byte, 1) != 1) return {};
    // Those beyond the last whole round would make some letters likelier.
    if (byte < 256 / kPlain.size() * kPlain.size()) secret += kPlain[byte % kPlain.size()];
  }
  return secret;
}

}  // namespace plainwater
