#include "plainwater/secret_typed.h"

#include <openssl/crypto.h>
#include <openssl/evp.h>
#include <unistd.h>

#include <iostream>

namespace plainwater::tool {
namespace {

std::string trimmed_secret(std::string text) {
  while (!text.empty() && (text.back() == ' ' || text.back() == '\r')) text.pop_back();
  text.erase(0, std::min(text.find_first_not_of(' '), text.size()));
  return text;
}

}  // namespace

Result<std::string> typed_secret(const std::string& prompt, bool again) {
  if (isatty(STDIN_FILENO) == 0) {
    std::string line;
    if (!std::getline(std::cin, line))
      return Error{"standard input has no line", "", "give the secret there in one line"};
    return trimmed_secret(std::move(line));
  }
  char typed[512];
  const int failed = EVP_read_pw_string(typed, sizeof typed, prompt.c_str(), again ? 1 : 0);
  std::string secret = failed == 0 ? typed : "";
  OPENSSL_cleanse(typed, sizeof typed);
  if (failed != 0)
    return Error{"no secret was typed, or not the same twice", "",
                 "nothing was changed; try again"};
  return trimmed_secret(std::move(secret));
}

}  // namespace plainwater::tool
