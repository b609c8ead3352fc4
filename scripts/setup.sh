# Set-up shared by run, test and the scripts: which system this is and which packages it needs. Sourced by bash.

# To build and run the program.
run_packages=(g++ cmake ninja-build libeigen3-dev libexpected-dev libfmt-dev libsqlite3-dev nlohmann-json3-dev
  libcli11-dev libtomlplusplus-dev libboost-dev librsvg2-bin fonts-liberation2 libzip-dev libxlsxwriter-dev
  pkg-config libpango1.0-dev libcairo2-dev librsvg2-dev libqpdf-dev coinor-cbc)
# npm makes the page; where it came with another node than Debian's, Debian's npm could not be installed beside it.
command -v npm >/dev/null || run_packages+=(nodejs npm)
# For every test and job as well. libc6-dbg is for valgrind, tzdata for tests in another time zone.
test_packages=("${run_packages[@]}" libgtest-dev libgmock-dev libbenchmark-dev librapidcheck-dev clang-19 clang-format-19
  libclang-rt-19-dev emscripten nodejs node-acorn chromium libical-dev poppler-utils qpdf valgrind libc6-dbg mold tzdata
  glpk-utils python3-icalendar r-base-core r-cran-metafor r-cran-metadat r-cran-clubsandwich)

# Each argument is a line.
say() { printf '%s\n' "$@" >&2; }

# Says why it cannot go on and what would help, and ends with 2.
refuse() {
  say "$@"
  exit 2
}

# Installs those of the given Debian packages that are not there. Nothing is asked of the network when none is missing.
# ULLAGE_OS_RELEASE stands in for /etc/os-release in tests.
need_packages() {
  local known=no missing
  if [ -r "${ULLAGE_OS_RELEASE:-/etc/os-release}" ]; then
    known=$(. "${ULLAGE_OS_RELEASE:-/etc/os-release}" && [ "${ID:-}" = debian ] && [ "${VERSION_ID:-}" = 12 ] && echo yes) || true
  fi
  if [ "$known" != yes ]; then
    refuse "This script sets up Debian 12, and this system is not one, so nothing was changed." \
      "On another system, install what these Debian 12 packages hold, then build with" \
      "'cmake --preset release && cmake --build --preset release':" "  $*"
  fi
  missing=$(comm -23 <(printf '%s\n' "$@" | sort -u) \
    <(dpkg-query -W -f '${db:Status-Status} ${Package}\n' "$@" 2>/dev/null | sed -n 's/^installed //p' | sort -u))
  [ -n "$missing" ] || return 0
  missing=${missing//$'\n'/ }
  local as_root=()
  if [ "$(id -u)" != 0 ]; then
    command -v sudo >/dev/null || refuse "Some packages are missing, and installing them needs root or sudo." \
      "Ask someone who has it to run:" "  apt-get install --no-install-recommends $missing"
    as_root=(sudo)
    [ -t 0 ] || as_root+=(-n)  # nobody is there to type a password
    "${as_root[@]}" true || refuse "Some packages are missing, and sudo did not let this user install them." \
      "Ask someone who may to run:" "  apt-get install --no-install-recommends $missing"
  fi
  say "Installing from Debian: $missing"
  local apt=("${as_root[@]}" env DEBIAN_FRONTEND=noninteractive apt-get -q -y -o DPkg::Lock::Timeout=300
    -o Dpkg::Use-Pty=0)
  local log
  log=$(mktemp)
  # shellcheck disable=SC2086  # one word a package
  if ! { "${apt[@]}" update && "${apt[@]}" install --no-install-recommends $missing; } >"$log" 2>&1 </dev/null; then
    tail -n 20 "$log" >&2
    rm -f "$log"
    refuse "The packages could not be installed; what apt-get said last stands above."
  fi
  rm -f "$log"
}
