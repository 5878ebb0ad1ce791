#include "http/digest.h"

#include <openssl/sha.h>

#include "common/hex.h"

namespace plainwater::http {

std::string sha256(std::string_view text) {
  std::string digest(SHA256_DIGEST_LENGTH, '\0');
  SHA256(reinterpret_cast<const unsigned char*>(text.data()), text.size(),
         reinterpret_cast<unsigned char*>(digest.data()));
  return hex(digest);
}

}  // namespace plainwater::http
