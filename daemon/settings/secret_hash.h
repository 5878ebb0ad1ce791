// What is kept of a person's secret: a salted scrypt hash (RFC 7914) in one line of a file, in the
// form of PHC strings: $scrypt$ln=15,r=8,p=1$<salt>$<hash>, both in base64 without padding. The
// costs are in the line, so that they can rise later. Who reads the file cannot sign in with it.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

#include "common/result.h"

namespace plainwater {

/// Guessing a shorter one takes too little time.
inline constexpr std::size_t kShortestSecret = 8;   ///< characters
inline constexpr std::size_t kLongestSecret = 200;  ///< bytes: more is no secret but a mistake

struct SecretHash {
  int log2_n = 15;   ///< 14..18: 2^n blocks of 128 r bytes, 32 MiB with these, at most 256
  int r = 8;         ///< 1..16
  int p = 1;         ///< 1..4
  std::string salt;  ///< 16..64 bytes
  std::string key;   ///< 32 bytes; empty: none

  /// The line, without its end.
  std::string line() const;
};

/// Of a new secret, with a salt of its own. Error: it is too short, too long or no text; the
/// machine gives no random bytes.
Result<SecretHash> hash_of(std::string_view secret);
/// What nobody's secret fits, at the costs of `like`: for names that are not known, so that trying
/// one takes the same work.
SecretHash nobodys_hash(const SecretHash& like = {});
/// Error: no such line, or costs that would take too long or too much memory.
Result<SecretHash> read_hash_line(std::string_view line);
/// The first line of a file. Error: as above, or it cannot be read; names the path, never what is
/// in it.
Result<SecretHash> read_hash_file(const std::string& path);
/// True when it is the secret. Takes about 0.1 s and 128 · r · 2^n bytes, the same whatever is
/// given.
bool fits(const SecretHash& hash, std::string_view secret);

/// Six groups of three letters and figures, none of which looks like another: 87 bits. Empty: the
/// machine gives no random bytes.
std::string fresh_secret();

}  // namespace plainwater
