// The kinds of request, as one table. The parser, the pages' forms, the command line and the JSON
// schema (config/schemas/request.json, by a test) go by it: a new kind is a row here and a handler.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string_view>

#include "settings/board.h"

namespace plainwater::feeding {

/// Stored by number: new ones are appended.
enum class RequestKind : std::uint8_t {
  hold,  ///< plain water from `from` (default now) to `until` (default +28 d; monthly question when
         ///< left open); `instead` names an announced hold that it replaces
  release,         ///< end the hold; `full` chooses full feed, else reduced; `hold_id` names one
  extend,          ///< prolong the hold in force to `until`
  exempt,          ///< no detected hold until `until`; a time that is over ends the exemption
  growth_started,  ///< back to full feed from now on
  acknowledge,     ///< a person has seen the bench's open question (`note` says which)
  arm,             ///< `pump` follows its orders from now on
  disarm,          ///< `pump` goes back to advice
  move,  ///< the bench was carried `to` another place at `from` (default now); `hold` also asks for
         ///< plain water
  watered,  ///< a person watered the bench by hand: `litres` at `strength_percent` (default 0), at
            ///< `from` (default now)
  runoff,   ///< the EC of the bench's runoff was measured: `ec`, at `from` (default now)
  trust,    ///< `pump` disobeyed and has been looked after: trust it again
  end_chill,  ///< end the plain water of a chill; cold air that is not deep is let pass until
              ///< `until`
  retire,     ///< `bench` left the settings for good: what was known of it goes
  reload,     ///< the service reads its settings file again
  note,       ///< a line for the ledger, of `bench` or, without one, of the house
  withdraw,   ///< the announced hold `hold_id` does not begin
  absence,    ///< who keeps the house is away from `from` (default now) until `until`, and `person`
              ///< looks after it
  back,       ///< that absence ends now, or an announced one is withdrawn
};

/// Who takes a request: a part of the engine or, of `service`, the service around it.
enum class RequestTaker : std::uint8_t {
  feeding,
  position,
  watering,
  runoff,
  pump,
  ledger,
  house,
  service,
  absence
};

/// What it is about, and so which name it carries.
enum class RequestOf : std::uint8_t {
  bench,           ///< `bench`, in the settings
  bench_or_house,  ///< `bench`, or none: the whole house
  need,            ///< `notice`, or a `bench` with an open question
  pump,            ///< `pump`
  former_bench,    ///< `bench`, in the settings no more
  house,           ///< no name
};

/// The fields of a request beside its names (bench, pump, notice) and what each may have: id, who,
/// note, sent, expires.
enum class RequestField : std::uint8_t {
  from,
  until,
  full,
  to,
  hold,     ///< of a move: plain water outright
  hold_id,  ///< "hold" on the wire: the id of the request that asked for a hold
  instead,  ///< the id of the request that announced a hold
  litres,
  strength_percent,
  ec,
  person,
  note,
  bench,  ///< the name, where a form must ask for it
};

enum class FieldType : std::uint8_t {
  time,    ///< RFC 3339
  number,  ///< of `unit`, from `least` to `most`
  choice,  ///< one of `choices`
  person,  ///< one of the settings' people
  flag,    ///< true or false
  text,    ///< one line, at most kLongestText characters
};

struct FieldChoice {
  const char* value;
  const char* label;  ///< key of words/english/
};

struct FieldRow {
  RequestField field;
  FieldType type;
  const char* name;   ///< on the wire
  const char* label;  ///< key of words/english/
  bool needed = false;
  const char* unit = "";  ///< as people read it
  double least = 0, most = 0;
  bool above_least = false;  ///< `least` itself is too little
  const char* usual = "";    ///< JSON of what counts when it is left out; empty: nothing
  bool by_id = false;        ///< given by a program, such as a button: nobody types it
  std::span<const FieldChoice> choices{};
};

struct RequestShape {
  RequestKind kind;
  const char* name;   ///< on the wire
  const char* label;  ///< keys of words/english/: of a button, and of the sentence what it does
  const char* words;
  RequestTaker taker = RequestTaker::feeding;
  RequestOf of = RequestOf::bench;
  Role role = Role::care;       ///< who may ask it of a page; on MQTT the broker's access list says
  bool common = false;          ///< asked often: people need it at hand
  bool to_plain_water = false;  ///< can only lead to less feed: obeyed whatever the clock is worth
  std::span<const FieldRow> fields{};

  bool pump() const { return of == RequestOf::pump; }  ///< it names a pump
  bool notice() const {
    return of == RequestOf::need;
  }  ///< it may name a notice instead of a bench
  bool bench() const { return !pump() && of != RequestOf::house; }  ///< it may name a bench
  bool bench_needed() const { return bench() && of != RequestOf::bench_or_house; }
  const FieldRow* field(RequestField field) const;  ///< null: it does not take it
  bool takes(RequestField f) const { return field(f) != nullptr; }
};

/// In the order of RequestKind.
std::span<const RequestShape> request_shapes();
const RequestShape& shape_of(RequestKind kind);
/// `note` as each kind may have it; the name of a bench that has left the settings, in a form.
const FieldRow& note_row();
const FieldRow& former_bench_row();
const char* name_of(RequestKind kind);  ///< "hold", "growth-started" …
std::optional<RequestKind> request_kind(std::string_view name);

}  // namespace plainwater::feeding
