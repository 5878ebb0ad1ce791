// Keys of notices, placards and metrics.
#include "settings/key_tables.h"
#include "settings/slots.h"

namespace plainwater {
namespace {

using namespace slots;
using S = Settings;

// One line of facts and one of text per row.
// clang-format off
const Key kNotices[] = {
    {"notices", "quiet", at<&S::notices, &Notices::quiet>, "", {},
     "Hours of the site's day in which only urgent notices go out; the others wait for their end. Blank: none.", "", TextRule::hours_of_day},
    {"notices", "digest", at<&S::notices, &Notices::digest>, "", {},
     "When, in the site's time, one notice a day says how the benches are, what is open, and what else happened. Blank: no digest, and what is good to know is sent at once.", "", TextRule::time_of_day},
    {"notices", "urgent_again", seconds_at<&S::notices, &Notices::urgent_again_s>, "", {300, 604'800},
     "What is urgent and lasts is repeated after this, then after twice as long each time, until it is over or acknowledged.", ""},
    {"notices", "soon_again", seconds_at<&S::notices, &Notices::soon_again_s>, "", {300, 604'800},
     "The same for what should be seen to within a day.", ""},
    {"notices", "longest_again", seconds_at<&S::notices, &Notices::longest_again_s>, "", {300, 2'592'000},
     "The longest time between two repeats of what lasts.", ""},
    {"notices", "gap", seconds_at<&S::notices, &Notices::gap_s>, "", {60, 604'800},
     "A broker that could not be reached for longer than this brings a notice when it is back.", ""},
};

const Key kPlacards[] = {
    {"placards", "width", at<&S::placards, &Placards::width>, "characters", {8, 80},
     "Characters in a line of the display boards.", ""},
    {"placards", "lines", at<&S::placards, &Placards::lines>, "", {1, 8},
     "Lines of the display boards.", ""},
    {"placards", "ascii", at<&S::placards, &Placards::ascii>, "", {},
     "true: letters, figures and signs of ASCII only. false: UTF-8, with signs such as the degree's.", ""},
};

const Key kMetrics[] = {
    {"metrics", "listen", at<&S::metrics, &Metrics::listen>, "", {},
     "Address and port where a metrics server may ask, under /metrics, such as 127.0.0.1:8633; blank: nowhere. Beyond 127.0.0.1 it needs a password_file.",
     "", TextRule::listen_address},
    {"metrics", "user", at<&S::metrics, &Metrics::user>, "", {},
     "User name that goes with the password (HTTP Basic).", ""},
    {"metrics", "password_file", at<&S::metrics, &Metrics::password_file>, "", {},
     "File whose first line is the password, readable by the service only. It travels unencrypted: use a network of its own, or a TLS proxy.", ""},
};
// clang-format on

}  // namespace

std::span<const Key> notice_keys() { return kNotices; }
std::span<const Key> placard_keys() { return kPlacards; }
std::span<const Key> metrics_keys() { return kMetrics; }

}  // namespace plainwater
