#!/bin/sh
# Follows a bench's strength and runs a command with the percent that may flow, as its last argument.
#
#   strength.sh [-h HOST] [-p PORT] -t plainwater/SITE/benches/BENCH/strength COMMAND [ARGUMENT...]
#
# The command is run with 0 (plain water) at the start, after 15 minutes of silence, on a message that is not a strength,
# and when this script ends; and with the percent at every message, so that a valve can close automatically when it is
# not renewed. It must return within a minute; while it fails it is tried again every few seconds.
# Further options, such as user and password: one per line in ~/.config/mosquitto_sub. Needs mosquitto_sub, and Linux.
set -u

PATIENCE=${PATIENCE:-900} TICK=5
host=127.0.0.1 port=1883 topic=
usage() { sed -n '2,/^set/s/^# \{0,1\}//p' "$0" >&2; exit 2; }
say() { printf 'strength.sh: %s\n' "$*" >&2; }

while getopts h:p:t: option; do
  case $option in
    h) host=$OPTARG ;;
    p) port=$OPTARG ;;
    t) topic=$OPTARG ;;
    *) usage ;;
  esac
done
shift $((OPTIND - 1))
if [ -z "$topic" ] || [ $# -eq 0 ]; then usage; fi
case $PATIENCE in '' | *[!0-9]*) say "PATIENCE is not a number of seconds: $PATIENCE"; exit 2 ;; esac
for needed in mosquitto_sub timeout mkfifo; do
  command -v "$needed" >/dev/null || { say "$needed is not installed"; exit 2; }
done

# Seconds since power-up: a clock that nobody sets, and that runs on while the machine sleeps.
uptime() { read -r now _ </proc/uptime && now=${now%.*}; }

# Lines for the loop below: "tick", and "message RETAINED HEX". In hex no payload can break a line or imitate one. A
# clean session: messages that waited at the broker would come without their age.
listen() {
  trap 'kill "$child" 2>/dev/null; exit' TERM
  while :; do
    mosquitto_sub -h "$host" -p "$port" -k 30 -q 1 -t "$topic" -F 'message %r %x' &
    child=$!
    wait "$child"
    say "no connection to $host:$port; trying again"
    sleep "$TICK" &
    child=$!
    wait "$child"
  done
}
tick() {
  trap 'kill "$child" 2>/dev/null; exit' TERM
  while echo tick; do
    sleep "$TICK" &
    child=$!
    wait "$child"
  done
}

# Decodes the digits of a strength from hex: 3435 is 45. Anything else is refused.
percent_of() {
  percent=
  case $1 in
    3[0-9] | 3[1-9]3[0-9]) percent=${1#3} ;;
    313030) percent=100 ;;
    *) return 1 ;;
  esac
  case $percent in ?3?) percent=${percent%3?}${percent#?3} ;; esac
}

# Passes the allowed percent to the command; after a failure it is tried again at the next tick.
give() {
  allowed=$1 owed=yes
  shift
  if timeout 60 "$@" "$allowed" </dev/null; then owed=; else say "the command failed at $allowed; trying again"; fi
}

folder=$(mktemp -d) || exit 3
mkfifo "$folder/lines" || exit 3
listener='' ticker=''
finish() {
  trap '' TERM INT HUP
  kill $listener $ticker 2>/dev/null
  rm -rf "$folder"
  give 0 "$@"
}
trap 'finish "$@"; exit 0' TERM INT HUP

give 0 "$@"
# Opened for reading and writing, so that it does not end while a writer is away.
exec 3<>"$folder/lines"
listen >"$folder/lines" 3>&- &
listener=$!
tick >"$folder/lines" 3>&- &
ticker=$!
uptime
heard=$((now - PATIENCE))
while read -r kind retained hex <&3; do
  uptime
  case $kind in
    message)
      if [ "$retained" != 0 ]; then
        say "a retained message has no age and is not followed"
      elif percent_of "$hex"; then
        heard=$now
        give "$percent" "$@"
      else
        say "this is no strength (in hex): $(printf '%.40s' "$hex")"
        give 0 "$@"
      fi
      ;;
    tick)
      if [ "$allowed" != 0 ] && [ $((now - heard)) -ge "$PATIENCE" ]; then
        say "nothing heard for $PATIENCE seconds: plain water"
        give 0 "$@"
      elif [ -n "$owed" ]; then
        give "$allowed" "$@"
      fi
      ;;
    *)  # A payload so long that a tick was written into its line.
      say "a line that cannot be read: plain water"
      give 0 "$@"
      ;;
  esac
done
finish "$@"
exit 3
