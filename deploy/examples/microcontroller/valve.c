#include "valve.h"

enum { NOT_A_STRENGTH = 255 };

/* Exactly as the service writes it: "0" to "100", with no sign, space, point, leading zero or line
 * end. */
static uint8_t read_percent(const unsigned char* text, size_t length) {
  if (text == NULL || length == 0 || length > 3) return NOT_A_STRENGTH;
  if (text[0] == '0' && length > 1) return NOT_A_STRENGTH;
  unsigned percent = 0;
  for (size_t i = 0; i < length; ++i) {
    if (text[i] < '0' || text[i] > '9') return NOT_A_STRENGTH;
    percent = percent * 10 + (unsigned)(text[i] - '0');
  }
  return percent <= 100 ? (uint8_t)percent : NOT_A_STRENGTH;
}

/* A watering never rises above the lowest strength since it began. */
static void hold_back_watering(struct valve* valve) {
  const uint8_t allowed = valve_percent(valve);
  if (valve->watering_percent > allowed) valve->watering_percent = allowed;
}

static void let_pass(struct valve* valve, uint32_t seconds) {
  valve->seconds_left =
      seconds < valve->seconds_left ? (uint16_t)(valve->seconds_left - seconds) : 0;
  hold_back_watering(valve);
}

void valve_start(struct valve* valve) {
  const struct valve fresh = {0, 0, 0, 0, 0, 0, false};
  *valve = fresh;
}

bool valve_hears_strength(struct valve* valve, const void* payload, size_t length, bool retained) {
  if (retained) return false;
  const uint8_t percent = read_percent(payload, length);
  const bool understood = percent != NOT_A_STRENGTH;
  if (!understood && valve->refused < UINT16_MAX) ++valve->refused;
  /* The message may have been a damaged 0 that shuts the stock. */
  valve->heard_percent = understood ? percent : 0;
  valve->seconds_left = understood ? VALVE_PATIENCE_SECONDS : 0;
  hold_back_watering(valve);
  return understood;
}

void valve_second_passed(struct valve* valve) { let_pass(valve, 1); }

void valve_clock_shows(struct valve* valve, uint32_t milliseconds) {
  if (valve->clock_known) {
    /* Unsigned difference: right across the wrap-around. Divided first, so that adding the rest
     * cannot overflow. */
    const uint32_t passed = milliseconds - valve->clock;
    const uint32_t rest = valve->rest + passed % 1000;
    valve->rest = (uint16_t)(rest % 1000);
    let_pass(valve, passed / 1000 + rest / 1000);
  }
  valve->clock = milliseconds;
  valve->clock_known = true;
}

uint8_t valve_percent(const struct valve* valve) {
  return valve->seconds_left > 0 ? valve->heard_percent : 0;
}

void valve_watering_begins(struct valve* valve) { valve->watering_percent = valve_percent(valve); }

void valve_watering_ends(struct valve* valve) { valve->watering_percent = 0; }

uint8_t valve_feed_now(const struct valve* valve) { return valve->watering_percent; }
