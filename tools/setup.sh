# Sourced by the two set-up commands and the bench: installs packages and builds. Safe to repeat.
set -euo pipefail
root=$(cd "$(dirname "${BASH_SOURCE[0]}")/.." && pwd)
cd "$root"

say() { printf '== %s\n' "$*"; }

as_root() { if [[ $(id -u) == 0 ]]; then "$@"; else sudo "$@"; fi; }

# install_packages KIND...: what tools/packages lists for these kinds and the machine does not have yet.
install_packages() {
  local kind package missing=()
  while read -r kind package; do
    [[ " $* " == *" $kind "* ]] || continue
    # Node's own packages bring npm along; Debian's npm would pull out a newer node.
    if [[ $package == npm || $package == nodejs ]] && command -v "${package/nodejs/node}" >/dev/null; then continue; fi
    dpkg-query -W -f='${Status}' "$package" 2>/dev/null | grep -q 'ok installed' || missing+=("$package")
  done < <(grep -v '^#' tools/packages)
  if [[ ${#missing[@]} == 0 ]]; then say "packages: all there"; return; fi
  say "packages: installing ${missing[*]}"
  as_root apt-get update -qq
  as_root env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends "${missing[@]}" >/dev/null
}

# build DIRECTORY [CMAKE OPTION...] [-- TARGET...]: configure once, then build what has changed, or of it only the targets.
# The sources of a folder are compiled together, which takes half the time for all of them; who changes many for a day says
# -DDRYBUS_ROOMS_TOGETHER=OFF.
build() {
  local directory=$1 options=(); shift
  while (( $# )) && [[ $1 != -- ]]; do options+=("$1"); shift; done
  (( $# )) && shift
  say "building in $directory (Release)"
  cmake -S . -B "$directory" -G Ninja -DCMAKE_BUILD_TYPE=Release -DDRYBUS_ROOMS_TOGETHER=ON "${options[@]}" >/dev/null
  cmake --build "$directory" ${1:+--target "$@"}
}

# build_sanitized SANITIZERS [TARGET...]: with clang, in build-sanitizers/...; the fuzzers share the build with address,undefined.
# Leaves the folder's name in `directory`.
build_sanitized() {
  local sanitizers=$1; shift
  local fuzzers=OFF
  [[ $sanitizers != address,undefined ]] || fuzzers=ON
  directory=build-sanitizers/${sanitizers/,/-}
  say "building with $sanitizers in $directory"
  cmake -S . -B "$directory" -G Ninja -DCMAKE_BUILD_TYPE=Release -DCMAKE_C_COMPILER=clang -DCMAKE_CXX_COMPILER=clang++ \
    -DDRYBUS_SANITIZE="$sanitizers" -DDRYBUS_FUZZ=$fuzzers -DDRYBUS_TESTS=ON >/dev/null
  cmake --build "$directory" --target "${@:-all}"
}
