// The web pages, and who may enter them.
#pragma once

#include <cstdint>
#include <memory>
#include <string>

#include "words/render.h"

namespace plainwater {

/// What a person may ask for. Each includes those before it.
enum class Role : std::uint8_t {
  look,    ///< reads the pages
  care,    ///< looks after the benches: all requests but those that let feed flow
  keeper,  ///< also arms and trusts pumps, and looks after the house
};
const char* name_of(Role role);  ///< "look", "care", "keeper"

/// Somebody who may enter the pages by name and secret.
struct Person {
  std::string name;         ///< recorded with what they ask for; one MQTT topic level
  std::string secret_file;  ///< what `plainwater person add` wrote: a hash of the secret
  Role role = Role::care;
};

/// The web pages for people.
struct Board {
  std::string listen = "127.0.0.1:8632";  ///< address:port; empty: no pages
  std::string token_file;     ///< its first line is the token that readers need; empty: no token
  bool behind_proxy = false;  ///< a reverse proxy decides who may read
  bool trust_loopback =
      false;  ///< who reads on this machine without a name may ask for all that a keeper may
  std::string address;  ///< http(s)://… by which readers reach it, for codes and links; empty: as
                        ///< in their request
  ShownUnit unit = ShownUnit::celsius;  ///< for temperatures that people read
  std::string language = "en";          ///< or the folder of a translation

  std::shared_ptr<const words::Language> translation{};  ///< read from there; null: English
  std::string page_words{};  ///< the script of the pages' words from there; empty: English
  /// How people read.
  words::Reader reader() const {
    return {translation ? translation : words::shared_english(), {unit}};
  }
};

}  // namespace plainwater
