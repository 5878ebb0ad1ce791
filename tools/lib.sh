# Shell functions shared by tools/run, tools/test and tools/soak. Source it; it does nothing on its own.
# shellcheck shell=bash

say() { printf '%s\n' "$*"; }
complain() { printf '%s: %s\n' "${0##*/}" "$*" >&2; }

installed() { [[ $(dpkg-query -W -f='${db:Status-Status}' "$1" 2>/dev/null) == installed ]]; }

# Prints the needs of one section of tools/packages, one per line, with their alternatives.
needs_of() { sed -n "/^\[$1\]/,/^\[/{/^\[/d;s/#.*//;/[^[:space:]]/p}" "$ROOT/tools/packages"; }

# Prints the first alternative that apt can install; nothing when it knows none.
first_known() {
  local name
  for name in ${1//|/ }; do
    if apt-cache show --no-all-versions "$name" >/dev/null 2>&1; then echo "$name" && return; fi
  done
}

# Prints the packages to install so that every need is met.
missing_packages() {
  local section need name
  for section in "$@"; do
    while IFS= read -r need; do
      # "npm unless npm": a nodejs from elsewhere brings its own npm, which Debian's would displace.
      if [[ $need =~ ^(.*[^[:space:]])[[:space:]]+unless[[:space:]]+([^[:space:]]+) ]]; then
        command -v "${BASH_REMATCH[2]}" >/dev/null && continue
        need=${BASH_REMATCH[1]}
      fi
      name=${need%%|*}
      installed "${name// /}" && continue
      name=$(first_known "$need")
      [[ -n $name ]] && installed "$name" && continue
      # Unknown to apt: its lists may be empty or old. Then the first name is tried after an update.
      echo "${name:-?$need}"
    done < <(needs_of "$section")
  done
}

# install_packages run [test]: installs what is missing of these sections of tools/packages, and nothing else.
install_packages() {
  command -v dpkg-query >/dev/null || { complain "this needs Debian or a system that uses its packages; see tools/packages for what to install by hand"; return 1; }
  local missing
  missing=$(missing_packages "$@")
  [[ -z $missing ]] && return 0

  local -a as_root=(env DEBIAN_FRONTEND=noninteractive)
  if [[ $EUID -ne 0 ]]; then
    command -v sudo >/dev/null || { complain "these packages are missing, and there is neither root nor sudo to install them: ${missing//$'\n'/ }"; return 1; }
    as_root=(sudo "${as_root[@]}")
  fi
  # Names unknown to apt, or lists too old to fetch from, need an update; nothing else does.
  local log
  log=$(mktemp)
  if [[ $missing == *'?'* ]] || ! "${as_root[@]}" apt-get install -y --no-install-recommends --download-only $missing >"$log" 2>&1; then
    say "Updating the list of packages ..."
    "${as_root[@]}" apt-get update >"$log" 2>&1 || { cat "$log" >&2; rm -f "$log"; complain "apt-get update failed; is the network there?"; return 1; }
    missing=$(missing_packages "$@")
    if [[ $missing == *'?'* ]]; then
      rm -f "$log"
      complain "this release has no package for: $(grep -F '?' <<<"$missing" | tr -d '?' | tr '\n' ';')"
      return 1
    fi
  fi
  say "Installing ${missing//$'\n'/ } ..."
  "${as_root[@]}" apt-get install -y --no-install-recommends $missing >"$log" 2>&1 || { tail -n 20 "$log" >&2; rm -f "$log"; complain "apt-get install failed"; return 1; }
  rm -f "$log"
  if grep -qx mosquitto <<<"$missing"; then
    say "Note: Debian's mosquitto package also starts a broker for the whole machine, on loopback only. plainwater's"
    say "scripts never use it; they start one of their own. To stop it: systemctl disable --now mosquitto"
  fi
}

# build DIR TARGET...: builds quietly, with one progress line on a terminal; prints the whole log only on failure.
build() {
  local directory=$1 log status=0
  shift
  log=$directory/build.log
  if [[ -t 1 ]]; then
    NINJA_STATUS='[%f/%t] ' cmake --build "$directory" --target "$@" 2>&1 | tee "$log" |
      while IFS= read -r line; do if [[ $line == \[* ]]; then printf '\r\033[KBuilding %s' "${line%% *}"; fi; done || status=$?
    printf '\r\033[K'
  else
    cmake --build "$directory" --target "$@" >"$log" 2>&1 || status=$?
  fi
  if [[ $status -ne 0 ]]; then
    grep -E -A 12 'FAILED|error:' "$log" | head -n 60 >&2 || tail -n 40 "$log" >&2
    complain "the build in ${directory#"$ROOT"/} failed; the whole log is ${log#"$ROOT"/}"
  fi
  return $status
}

# configure DIR PRESET-OR-OPTIONS...: runs cmake, quietly unless it fails.
configure() {
  local directory=$1 log
  shift
  mkdir -p "$directory"
  log=$directory/configure.log
  cmake -S "$ROOT" -B "$directory" -G Ninja "$@" >"$log" 2>&1 || { cat "$log" >&2; complain "cmake failed; see above"; return 1; }
}

# Ends a process of ours by its id and waits; kills it after ten seconds. Does nothing when it has gone.
end_process() {
  local pid=$1 left=100
  [[ -n $pid ]] && kill -TERM "$pid" 2>/dev/null || return 0
  while kill -0 "$pid" 2>/dev/null && ((left-- > 0)); do sleep 0.1; done
  kill -KILL "$pid" 2>/dev/null || true
  wait "$pid" 2>/dev/null || true
}

port_answers() { (exec 3<>"/dev/tcp/127.0.0.1/$1") 2>/dev/null; }

# start_broker DIR: starts a private mosquitto on a free loopback port; sets BROKER_PID and BROKER_PORT.
start_broker() {
  local directory=$1 left
  for _ in {1..20}; do
    BROKER_PORT=$((20000 + (RANDOM % 12000)))
    port_answers "$BROKER_PORT" && continue
    cat >"$directory/mosquitto.conf" <<CONF
listener $BROKER_PORT 127.0.0.1
allow_anonymous true
persistence true
persistence_location $directory/
user $(id -un)
max_queued_messages 1000000
max_inflight_messages 1000
CONF
    PATH=$PATH:/usr/sbin mosquitto -c "$directory/mosquitto.conf" >"$directory/mosquitto.log" 2>&1 &
    BROKER_PID=$!
    for ((left = 50; left > 0; --left)); do
      kill -0 "$BROKER_PID" 2>/dev/null || break
      port_answers "$BROKER_PORT" && return 0
      sleep 0.1
    done
    end_process "$BROKER_PID"
  done
  cat "$directory/mosquitto.log" >&2
  complain "mosquitto did not start on any of 20 ports"
  return 1
}
