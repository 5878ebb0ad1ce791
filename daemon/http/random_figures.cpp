#include "http/random_figures.h"

#include <openssl/rand.h>

#include "common/hex.h"

namespace plainwater::http {

std::string random_figures(std::size_t bytes) {
  std::string raw(bytes, '\0');
  if (RAND_bytes(reinterpret_cast<unsigned char*>(raw.data()), static_cast<int>(bytes)) != 1)
    return {};
  return hex(raw);
}

}  // namespace plainwater::http
