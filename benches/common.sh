# What the timing scripts have in common: to be sourced, with the tools that are needed as arguments.
# Gives $program, $generate and $work, a folder that goes at the end. A tool that is missing is a failure.
cd "$(dirname "${BASH_SOURCE[0]}")/.."

for tool in "$@"; do
    command -v "$tool" >/dev/null || { echo "$(basename "$0"): $tool is missing" >&2; exit 1; }
done

cargo build --release --quiet --bin walkaround --example generate_fleet
program=$PWD/target/release/walkaround
generate=$PWD/target/release/examples/generate_fleet
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
