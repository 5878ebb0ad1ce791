#!/bin/sh
# Follows the notices of a site and runs a program for each: the urgency is its argument, the sentence its input.
#
#   notices.sh [-h HOST] [-p PORT] -b plainwater/SITE [-u PROGRAM] [-s PROGRAM] [-i PROGRAM]
#
# -u for urgent notices, -s for soon, -i for info; those without a program are not followed. A program that fails is tried
# twice more; then the sentence is written to standard error, so that it is at least in the log.
# The broker keeps notices while this script is away, until they expire. Further options, such as user and password: one
# per line in ~/.config/mosquitto_sub. Needs mosquitto_sub.
set -u

PAUSE=${PAUSE:-10}
host=127.0.0.1 port=1883 base='' urgent='' soon='' info='' followers=''
usage() { sed -n '2,/^set/s/^# \{0,1\}//p' "$0" >&2; exit 2; }
say() { printf 'notices.sh: %s\n' "$*" >&2; }

while getopts h:p:b:u:s:i: option; do
  case $option in
    h) host=$OPTARG ;;
    p) port=$OPTARG ;;
    b) base=$OPTARG ;;
    u) urgent=$OPTARG ;;
    s) soon=$OPTARG ;;
    i) info=$OPTARG ;;
    *) usage ;;
  esac
done
shift $((OPTIND - 1))
if [ -z "$base" ] || [ -z "$urgent$soon$info" ] || [ $# -gt 0 ]; then usage; fi
for needed in mosquitto_sub timeout "$urgent" "$soon" "$info"; do
  [ -z "$needed" ] || command -v "$needed" >/dev/null || { say "$needed is not there, or may not be run"; exit 2; }
done

# The sentence is passed on standard input: as an argument it could be mistaken for an option.
tell() {
  for try in 1 2 3; do
    if printf '%s\n' "$3" | timeout 60 "$1" "$2"; then return; fi
    [ "$try" = 3 ] || sleep "$PAUSE"
  done
  say "$1 failed; $2: $3"
}

# One listener for each urgency: whatever a payload holds, it cannot change how urgent it is.
# -c and -i: a persistent session, so that nothing is lost while we or the network are away. -R: notices are never retained.
listen() {
  trap 'kill "$child" 2>/dev/null; exit' TERM
  while :; do
    mosquitto_sub -h "$host" -p "$port" -k 30 -q 1 -c -i "notices-$(uname -n)-$1" -R -t "$base/notices/$1" -F %p &
    child=$!
    wait "$child"
    say "no connection to $host:$port; trying again"
    sleep "$PAUSE" &
    child=$!
    wait "$child"
  done
}

folder=$(mktemp -d) || exit 3
finish() {
  trap '' TERM INT HUP
  # shellcheck disable=SC2086
  kill $followers 2>/dev/null
  rm -rf "$folder"
}
trap 'finish; exit 0' TERM INT HUP

follow() {
  [ -n "$2" ] || return 0
  mkfifo "$folder/$1" || { finish; exit 3; }
  listen "$1" >"$folder/$1" &
  followers="$followers $!"
  while IFS= read -r text; do
    text=$(printf %s "$text" | LC_ALL=C tr -d '[:cntrl:]')
    [ -z "$text" ] || tell "$2" "$1" "$text"
  done <"$folder/$1" &
  followers="$followers $!"
}
follow urgent "$urgent"
follow soon "$soon"
follow info "$info"
wait
