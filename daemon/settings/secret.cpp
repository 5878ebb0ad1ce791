#include "settings/secret.h"

#include <openssl/crypto.h>
#include <openssl/sha.h>

#include <array>
#include <fstream>

namespace plainwater {
namespace {

using Digest = std::array<unsigned char, SHA256_DIGEST_LENGTH>;

/// Digests have equal length for any input, so not even the length leaks.
Digest digest(std::string_view text) {
  Digest out{};
  ::SHA256(reinterpret_cast<const unsigned char*>(text.data()), text.size(), out.data());
  return out;
}

}  // namespace

Result<std::string> read_secret(const std::string& path, const std::string& what) {
  std::ifstream file(path);
  if (!file)
    return Error{"cannot read " + what, path,
                 "check that it exists and that the service's user may read it"};
  std::string line;
  std::getline(file, line);
  if (line.ends_with('\r')) line.pop_back();
  return line;
}

bool same_secret(std::string_view given, std::string_view secret) {
  const Digest a = digest(given), b = digest(secret);
  return CRYPTO_memcmp(a.data(), b.data(), a.size()) == 0;
}

}  // namespace plainwater
