// Keys of the site, the broker, the store, the clock and the board.
#include "settings/key_tables.h"
#include "settings/slots.h"

namespace plainwater {
namespace {

using namespace slots;
using S = Settings;

// One line of facts and one of text per row.
// clang-format off
const Key kSite[] = {
    {"site", "name", at<&S::site, &Site::name>, "", {},
     "Short name of the site; a level of every topic that is published.", "tern-bank", TextRule::level_name},
    {"site", "latitude", at<&S::site, &Site::latitude_deg>, "degrees, north positive", {-90, 90},
     "Sunset and sunrise bound the nights.", "52.2", TextRule::any, true},
    {"site", "longitude", at<&S::site, &Site::longitude_deg>, "degrees, east positive", {-180, 180},
     "Sunset and sunrise bound the nights.", "-2.1", TextRule::any, true},
    {"site", "time_zone", at<&S::site, &Site::time_zone>, "", {},
     "IANA name of the time zone for dates that people read; decisions do not use it.", "Europe/London", TextRule::time_zone},
    {"site", "outdoor_reference", at<&S::site, &Site::outdoor_reference>, "", {},
     "Sensor in the open air that no bench moves; blank for none.", "", TextRule::level_name},
    {"site", "indoor_reference", at<&S::site, &Site::indoor_reference>, "", {},
     "Sensor in the house that benches move into; blank for none.", "", TextRule::level_name},
    {"site", "retired", at<&S::site, &Site::retired>, "", {},
     "Former names of benches that left these settings for good and that no other goes on for: their holds and questions are dropped, as by `plainwater retire`.", ""},
};

const Key kBroker[] = {
    {"broker", "url", at<&S::broker, &Broker::url>, "", {},
     "mqtt://host:port, or mqtts://host:port with TLS; blank: no live service, only rehearsals. Never put a password here.",
     "mqtt://127.0.0.1:1883", TextRule::broker_url},
    {"broker", "user", at<&S::broker, &Broker::user>, "", {},
     "User name at the broker.", ""},
    {"broker", "password_file", at<&S::broker, &Broker::password_file>, "", {},
     "File whose first line is the password, readable by the service only.", ""},
    {"broker", "password_environment", at<&S::broker, &Broker::password_environment>, "", {},
     "Name of the environment variable that holds the password, instead of a file.", ""},
    {"broker", "certificate_authority", at<&S::broker, &Broker::certificate_authority>, "", {},
     "PEM file of the authority that signed the broker's certificate; for mqtts.", ""},
    {"broker", "client_certificate", at<&S::broker, &Broker::client_certificate>, "", {},
     "PEM file of our own certificate, if the broker asks for one; for mqtts.", ""},
    {"broker", "client_key", at<&S::broker, &Broker::client_key>, "", {},
     "PEM file of the key to client_certificate.", ""},
    {"broker", "instance", at<&S::broker, &Broker::instance>, "", {},
     "Name of this service, if two watch one site; part of its client names and its state topic.", "", TextRule::level_name},
    {"broker", "root", at<&S::broker, &Broker::root>, "", {},
     "First level of all topics that are published.", "", TextRule::level_name},
    {"broker", "reply_topics", at<&S::broker, &Broker::reply_topics>, "", {},
     "Topic filters where replies to requests may go, beside plainwater/<site>/replies/#; a request that names another response "
     "topic is obeyed and not answered.", ""},
    {"broker", "session_expiry", seconds_at<&S::broker, &Broker::session_expiry_s>, "", {60, 31'536'000},
     "How long the broker keeps readings for us while we are away.", ""},
    {"broker", "keep_alive", seconds_at<&S::broker, &Broker::keep_alive_s>, "", {5, 3600},
     "A connection that is silently gone is found within about one and a half times this.", ""},
    {"broker", "longest_backoff", seconds_at<&S::broker, &Broker::longest_backoff_s>, "", {1, 3600},
     "Longest wait between attempts to connect.", ""},
};

const Key kStore[] = {
    {"store", "path", at<&S::store, &Storage::path>, "", {},
     "The database file; its directory must exist.", ""},
    {"store", "durability", at<&S::store, &Storage::durability>, "", {},
     "power: a reading is on the disk before it is acknowledged to the broker. process: safe against a killed service, but a power cut "
     "may take the last moments, and with them a hold that was answered.", ""},
    {"store", "raw_days", at<&S::store, &Storage::raw_days>, "days", {30, 36500},
     "How long single readings of the air are kept; nights, decisions and contacts' words are kept for ever.", ""},
};

const Key kClock[] = {
    {"clock", "time", at<&S::clock, &Clock::time>, "", {},
     "wall: the machine's clock. readings: the readings' own times drive everything, for demonstrations; refused while a pump "
     "is armed.", ""},
    {"clock", "trust_machine", at<&S::clock, &Clock::trust_machine>, "", {},
     "true: you vouch for this machine's clock, as in a container whose host keeps it right. Where the kernel does not say that a "
     "time service keeps it, it is otherwise believed only by the sensors' own times or the stored time, with plain water until then.", ""},
};

const Key kBoard[] = {
    {"board", "listen", at<&S::board, &Board::listen>, "", {},
     "Address and port of the pages; blank: no pages. Beyond 127.0.0.1 they need a token_file, or behind_proxy.", "", TextRule::listen_address},
    {"board", "token_file", at<&S::board, &Board::token_file>, "", {},
     "File whose first line a reader must know, readable by the service only; it lets read, not act. Without TLS it travels unencrypted: better a reverse proxy in front.", ""},
    {"board", "behind_proxy", at<&S::board, &Board::behind_proxy>, "", {},
     "true: a reverse proxy in front decides who may read.", ""},
    {"board", "trust_loopback", at<&S::board, &Board::trust_loopback>, "", {},
     "true: whoever opens the pages on this machine, under 127.0.0.1, may ask for all that a keeper may, without a name. Not on a machine that others log in to, and not behind a proxy.", ""},
    {"board", "address", at<&S::board, &Board::address>, "", {},
     "Where readers reach the pages, for the codes on bench cards; blank: as the page was asked for.", "", TextRule::web_address},
    {"board", "unit", at<&S::board, &Board::unit>, "", {},
     "Of temperatures that people read, on the pages, in notices and from commands: celsius or fahrenheit. What is stored, and messages for programs, stay in °C.", ""},
    {"board", "language", at<&S::board, &Board::language>, "", {},
     "Of what people read: en, or the path of a folder with a translator's sentences.yaml and pages.js. What is stored, and messages for programs, stay in English.", ""},
};

// clang-format on
}  // namespace

std::span<const Key> site_keys() { return kSite; }
std::span<const Key> broker_keys() { return kBroker; }
std::span<const Key> store_keys() { return kStore; }
std::span<const Key> clock_keys() { return kClock; }
std::span<const Key> board_keys() { return kBoard; }

}  // namespace plainwater
