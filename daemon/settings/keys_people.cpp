// Keys of those who may sign in on the pages.
#include "settings/key_tables.h"
#include "settings/slots.h"

namespace plainwater {
namespace {

using namespace slots;

// One line of facts and one of text per row.
// clang-format off
const Key kPeople[] = {
    {"people", "secret_file", of_person<&Person::secret_file>, "", {},
     "File that `plainwater person add` wrote: a hash of the secret, readable by the service only. Never put the secret itself here.", "ines.secret", TextRule::any, true},
    {"people", "role", of_person<&Person::role>, "", {},
     "look: may read. care: looks after the benches, may ask for all but what lets feed flow. keeper: also arms and trusts pumps, and looks after the house.", ""},
};

// clang-format on
}  // namespace

std::span<const Key> people_keys() { return kPeople; }

}  // namespace plainwater
