# Shell functions of tools/test and tools/soak: run a step, count passes and failures. Source it after lib.sh.
# shellcheck shell=bash
PASSED=0 FAILED=0

count() { PASSED=$((PASSED + $1)) FAILED=$((FAILED + $2)); }

# step NAME COMMAND...: runs a step that counts only when it fails.
step() {
  local name=$1 begin=$SECONDS
  shift
  say "== $name"
  if "$@"; then say "   done in $((SECONDS - begin)) s"; else count 0 1 && complain "failed: $name"; fi
}

# build_tree DIR OPTIONS... [--targets TARGET...]: configures and builds build/DIR.
build_tree() {
  local directory=$ROOT/build/$1
  shift
  local -a options=()
  while [[ $# -gt 0 && $1 != --targets ]]; do options+=("$1") && shift; done
  [[ $# -eq 0 ]] || shift
  configure "$directory" "${options[@]}" && build "$directory" "${@:-all}"
}

# count_junit FILE BEGIN: adds the tests of a JUnit report; a missing or empty report counts as one failure. BEGIN: when
# they began, by SECONDS.
count_junit() {
  local line
  line=$(python3 - "$1" <<'PY'
import sys, xml.etree.ElementTree as tree
try:
    suites = list(tree.parse(sys.argv[1]).getroot().iter("testsuite"))
except (OSError, tree.ParseError):
    suites = []
cases = [case for suite in suites for case in suite.iter("testcase")]
# A test that was not run proves nothing: skipped and disabled tests count as failed.
bad = [case for case in cases if any(case.find(kind) is not None for kind in ("failure", "error", "skipped")) or case.get("status") in ("fail", "disabled", "notrun")]
for case in bad:
    print("   failed:", case.get("classname", ""), case.get("name"), file=sys.stderr)
print(len(cases) - len(bad), len(bad) if cases else 1)
PY
  ) || line="0 1"
  # shellcheck disable=SC2086
  count $line
  say "   ${line% *} passed, ${line#* } failed, in $((SECONDS - $2)) s"
  [[ ${line#* } == 0 ]]
}

# run_ctest BUILD [ctest arguments]
run_ctest() {
  local name=$1 status=0 begin=$SECONDS
  shift
  say "== Unit and property tests ($name)"
  rm -f "$RESULTS/ctest.xml"
  ctest --test-dir "$ROOT/build/$name" --no-tests=error --output-on-failure -j "$(nproc)" --timeout "${LONGEST_TEST:-900}" --output-junit "$RESULTS/ctest.xml" "$@" >"$RESULTS/ctest.log" 2>&1 || status=$?
  count_junit "$RESULTS/ctest.xml" "$begin" || { grep -vE '^ *[0-9]+/[0-9]+ .*Passed|^ +Start ' "$RESULTS/ctest.log" | tail -n 150 >&2; return 0; }
  # Everything counted passed, yet ctest complains: something died outside of a test.
  [[ $status -eq 0 ]] || { tail -n 40 "$RESULTS/ctest.log" >&2; count 0 1; }
}

# build_unoptimised: builds what tests/system/test_equal_bytes.py compares with, into build/O0.
build_unoptimised() {
  step "Build without optimisation" build_tree O0 -DCMAKE_BUILD_TYPE=Debug -DCMAKE_CXX_FLAGS_DEBUG=-O0 -DPLAINWATER_TESTS=ON \
    -DPLAINWATER_SANITIZE= --targets ledger_bytes
}

# run_tool TOOL [arguments]: runs lint or fuzz, which end with "N passed, N failed" themselves.
run_tool() {
  local status=0 last tool=$1 begin=$SECONDS
  shift
  say "== tools/$tool $*"
  "$ROOT/tools/$tool" "$@" >"$RESULTS/$tool.log" 2>&1 || status=$?
  sed 's/^/   /' "$RESULTS/$tool.log"
  say "   in $((SECONDS - begin)) s"
  last=$(tail -n 1 "$RESULTS/$tool.log")
  if [[ $last =~ ([0-9]+)\ passed,\ ([0-9]+)\ failed$ ]]; then
    count "${BASH_REMATCH[1]}" "${BASH_REMATCH[2]}"
    [[ $status -eq 0 || ${BASH_REMATCH[2]} -gt 0 ]] || count 0 1
  else
    count 0 1
  fi
}

# run_pytest PATH [pytest arguments]: uses Debian's own python, which has the packages of tools/packages. Eight at a
# time, each file in one process: the tests mostly wait for clocks and back-offs, and each has its own broker.
run_pytest() {
  local status=0 begin=$SECONDS
  say "== System tests ($*)"
  rm -f "$RESULTS/pytest.xml"
  PLAINWATER_BIN=${PLAINWATER_BIN:-$ROOT/build/release/bin} /usr/bin/python3 -m pytest -q -p no:cacheprovider -n 8 --dist loadfile --junit-xml "$RESULTS/pytest.xml" "$@" >"$RESULTS/pytest.log" 2>&1 || status=$?
  count_junit "$RESULTS/pytest.xml" "$begin" || { tail -n 150 "$RESULTS/pytest.log" >&2; return 0; }
  [[ $status -eq 0 ]] || { tail -n 40 "$RESULTS/pytest.log" >&2; count 0 1; }
}

# names_of PATH [START]: prints the names of its tests, collected by a process whose clock begins at START.
names_of() { PLAINWATER_TEST_START=${2:-} /usr/bin/python3 -m pytest -q -p no:cacheprovider --collect-only "$1" 2>&1; }

# same_names PATH...: a test that counts for each of them. Two collections, at different seconds and days, must give the
# same names; otherwise pytest-xdist, whose processes collect separately, runs none of the tests.
same_names() {
  local path begin=$SECONDS
  say "== Names of the tests ($*)"
  for path in "$@"; do
    rm -f "$RESULTS/names.differ"
    if names_of "$path" >"$RESULTS/names" && sleep 1.1 && names_of "$path" 2028-02-29T23:59:59Z >"$RESULTS/names.again" &&
      diff <(grep :: "$RESULTS/names") <(grep :: "$RESULTS/names.again") >"$RESULTS/names.differ"; then
      count 1 0
    else
      count 0 1
      complain "two collections of $path differ, or cannot be made:"
      if [[ -s $RESULTS/names.differ ]]; then head -n 20 "$RESULTS/names.differ" >&2; else tail -n 20 "$RESULTS/names" >&2; fi
    fi
  done
  say "   in $((SECONDS - begin)) s"
}

# npm_packages DIR: installs exactly what DIR/package-lock.json names into DIR/node_modules; asks the registry only when
# something is missing or has changed.
npm_packages() {
  local directory=$1
  cmp -s "$directory/package-lock.json" "$directory/node_modules/.wanted" && return 0
  if ! npm ci --prefix "$directory" --ignore-scripts --no-audit --no-fund >"$directory/npm.log" 2>&1; then
    tail -n 15 "$directory/npm.log" >&2
    complain "npm could not fetch what ${directory#"$ROOT"/}/package-lock.json names from $(npm config get registry); is the network there? Without it ${directory#"$ROOT"/} is not run"
    return 1
  fi
  cp "$directory/package-lock.json" "$directory/node_modules/.wanted"
  rm -f "$directory/npm.log"
}

# Prints the verdict and exits with it. No test at all is a failure.
summary() {
  say ''
  ((PASSED > 0)) || count 0 1
  say "$PASSED passed, $FAILED failed"
  ((FAILED == 0))
}
