# Sourced by notebooks/run and tests/run: what a fresh machine is given, and how stages are run and timed.
#
#   need <Debian package> <command that succeeds where it is there>   (collects)
#   install_needed                                                    (installs, or lists what to install)
#   virtual_environment <requirements file>                           (makes or updates .venv and enters it)
#   stage <name> <command...>                                         (runs, times, stops at a failure)
#
# The sourcing script sets `root` (the project) and `me` (its own name), and may define on_failure.

cd "$root"
mkdir -p build/logs
unset PYTHONPATH PYTHONHOME CDPATH
export PIP_DISABLE_PIP_VERSION_CHECK=1 PIP_NO_INPUT=1 PYTHONDONTWRITEBYTECODE=1
export CMAKE_BUILD_PARALLEL_LEVEL="${CMAKE_BUILD_PARALLEL_LEVEL:-$(nproc)}"
[ -n "${HOME:-}" ] && [ -w "${HOME:-}" ] || export HOME="$root/build/home"
mkdir -p "$HOME"

now() { date +%s%N; }
seconds_since() { awk -v a="$1" -v b="$(now)" 'BEGIN { printf "%.1f", (b - a) / 1e9 }'; }

fail() {
  if declare -F on_failure >/dev/null; then
    printf '%s: %s\n' "$me" "$1" >&2
    on_failure
  else
    printf '%s: %s\n' "$me" "$1" >&2
  fi
  exit 1
}

stage() {
  local name=$1 log started
  shift
  log=build/logs/$(printf %s "$name" | tr -c '[:alnum:]\n' '-').log
  started=$(now)
  printf '%-46s' "$name"
  # Not `if "$@"`: a function would run on after a failing command there.
  set +e
  (set -e; "$@") >"$log" 2>&1 </dev/null
  local code=$?
  set -e
  printf '%8s s\n' "$(seconds_since "$started")"
  if [ $code -ne 0 ]; then
    tail -n 60 "$log"
    fail "stage '$name' failed; all of its output is in $log"
  fi
}

# --- Debian packages ---------------------------------------------------------------------------------------------

needed=()
need() {
  local package=$1
  shift
  "$@" >/dev/null 2>&1 || needed+=("$package")
}
has_command() { command -v "$1"; }
has_header() { printf '#include <%s>\n' "$1" | g++ -E -x c++ - ; }

as_root() {
  if [ "$(id -u)" = 0 ]; then "$@"; else sudo -n "$@"; fi
}
may_install() {
  command -v apt-get >/dev/null && { [ "$(id -u)" = 0 ] || sudo -n true 2>/dev/null; }
}
apt_install() {
  as_root apt-get update -q
  as_root env DEBIAN_FRONTEND=noninteractive apt-get install -y -q --no-install-recommends "$@"
}
install_needed() {
  [ ${#needed[@]} -eq 0 ] && return
  may_install || fail "please install these Debian packages (or what carries them elsewhere): ${needed[*]}"
  stage "Debian packages: ${needed[*]}" apt_install "${needed[@]}"
  needed=()
}

# --- Python ------------------------------------------------------------------------------------------------------

right_python() { "$1" -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; }
find_python() {
  local candidate
  for candidate in ${PYTHON:-python3} python3.13 python3.12 python3.11 /usr/bin/python3; do
    if right_python "$candidate"; then
      command -v "$candidate"
      return
    fi
  done
}
has_venv() { "$1" -c 'import ensurepip, venv'; }
has_python_headers() {
  "$1" -c 'import pathlib, sys, sysconfig; sys.exit(not pathlib.Path(sysconfig.get_path("include"), "Python.h").exists())'
}

# A system Python needs Debian's venv and headers; any other brings both.
need_python() {
  base_python=$(find_python)
  if [ -z "$base_python" ]; then
    needed+=(python3 python3-venv python3-dev)
    return
  fi
  need python3-venv has_venv "$base_python"
  need python3-dev has_python_headers "$base_python"
}

make_environment() {
  [ -x .venv/bin/python ] && .venv/bin/python -c '' || "$base_python" -m venv --clear .venv
  .venv/bin/python -m pip install -q -r "$1"
}

virtual_environment() {
  base_python=$(find_python)
  [ -n "$base_python" ] || fail "Python 3.11 or newer is needed; none was found (PYTHON=/path/to/python names one)"
  local mark fresh
  mark=.venv/$(printf %s "$1" | tr / -).installed
  fresh=$(printf '%s\n' "$root"; "$base_python" -VV; cat notebooks/requirements.txt "$1")
  if [ ! -f "$mark" ] || [ "$(cat "$mark")" != "$fresh" ] || ! .venv/bin/python -c '' 2>/dev/null; then
    # A clone that was moved, or another Python: begin anew.
    if [ -f "$mark" ] && [ "$(head -n 2 "$mark")" != "$(printf '%s\n' "$fresh" | head -n 2)" ]; then rm -rf .venv; fi
    stage "virtual environment .venv ($1)" make_environment "$1"
    printf '%s\n' "$fresh" >"$mark"
  fi
  export PATH="$root/.venv/bin:$PATH" VIRTUAL_ENV="$root/.venv"
}
