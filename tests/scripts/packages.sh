#!/bin/bash
# Makes the Debian package and the wheel, installs each into a clean place, and runs the main job from there.
#
#     packages.sh BARM PYTHON      the release build, and a Python with maturin
set -euo pipefail
barm=$(realpath "$1")
python=$2
cd "$(dirname "$0")/../.."
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT

# The program at $1 does the main job, and says which version it is.
works() {
    "$1" --version | grep -qx "$("$barm" --version)"
    "$1" check demo-logs >"$scratch/said"
    cmp "$scratch/said" "$scratch/wanted"
}
"$barm" check demo-logs >"$scratch/wanted"

package=$(.ci/package-deb "$barm" "$scratch")
clean=$scratch/clean
mkdir -p "$clean/var/lib/dpkg"/{info,updates,triggers}
: >"$clean/var/lib/dpkg/status"
# Into a place where nothing is: what it depends on is there only by name.
dpkg --root="$clean" --force-depends --log=/dev/null -i "$package" >"$scratch/dpkg" 2>&1 || { cat "$scratch/dpkg" >&2; exit 1; }
works "$clean/usr/bin/barm"
for page in "$clean"/usr/share/man/man1/*.gz; do
    gzip -dc "$page" >"$scratch/page.1"
    groff -man -Kutf8 -Tutf8 -ww "$scratch/page.1" >"$scratch/page.txt" 2>"$scratch/warnings"
    if [ -s "$scratch/warnings" ] || ! grep -q barm "$scratch/page.txt"; then
        echo "$page does not read well:" >&2
        cat "$scratch/warnings" >&2
        exit 1
    fi
done
bash -n "$clean/usr/share/bash-completion/completions/barm"
dpkg --root="$clean" --log=/dev/null -r barm >/dev/null
if [ -n "$(find "$clean/usr" -type f 2>/dev/null)" ]; then
    echo "the package leaves files behind" >&2
    exit 1
fi
echo "Debian package: $(basename "$package"), $(du -k "$package" | cut -f1) kB"

"$python" -m maturin build --quiet --release --manifest-path crates/cli/Cargo.toml --out "$scratch/wheel"
python3 -m venv "$scratch/venv"
"$scratch/venv/bin/pip" install --quiet --disable-pip-version-check --no-index "$scratch"/wheel/barm-*.whl
works "$scratch/venv/bin/barm"
echo "wheel: $(basename "$scratch"/wheel/*.whl), $(du -k "$scratch"/wheel/*.whl | cut -f1) kB"
