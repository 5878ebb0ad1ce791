/* How much feed a valve may let through, by the topic `strength` alone. C99, freestanding: no
 * memory is asked for, no clock read, nothing printed. It waits for nothing, so it fits into any
 * main loop.
 *
 * Whatever is in doubt is 0, and 0 is plain water: water goes on, the stock stays shut. */
#ifndef PLAINWATER_VALVE_H
#define PLAINWATER_VALVE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum { VALVE_PATIENCE_SECONDS = 15 * 60 }; /* silence that long is plain water */

struct valve {
  uint8_t heard_percent;    /* from the last message; 0 while that is not understood */
  uint8_t watering_percent; /* what this watering may have at most; 0 while none runs */
  uint16_t seconds_left;    /* until silence counts. It runs down, so it cannot wrap around */
  uint16_t refused;         /* messages that were not a strength; stops at its maximum */
  uint32_t clock; /* used by valve_clock_shows: milliseconds, and those not yet a whole second */
  uint16_t rest;
  bool clock_known;
};

/* At power-up, before anything else. */
void valve_start(struct valve* valve);

/* A message on the bench's `strength`, with its retain flag. A retained one has no age: it is not
 * followed. Returns whether it counted. `payload` may hold anything and need not end in a zero. */
bool valve_hears_strength(struct valve* valve, const void* payload, size_t length, bool retained);

/* Time passes, by one of these two, from a clock that nobody sets: a call each second, or a running
 * count of milliseconds, as often as you like but at least once in 49 days; that count may wrap
 * around. */
void valve_second_passed(struct valve* valve);
void valve_clock_shows(struct valve* valve, uint32_t milliseconds);

/* What a watering that began now would get, in percent of the pump's full dose: 0 to 100. */
uint8_t valve_percent(const struct valve* valve);

/* A watering takes what is allowed at its beginning. Less comes into force at once, more waits for
 * the next one. */
void valve_watering_begins(struct valve* valve);
void valve_watering_ends(struct valve* valve);

/* What may flow now: 0 keeps the stock valve shut. Ask in every turn of the main loop. */
uint8_t valve_feed_now(const struct valve* valve);

#endif
