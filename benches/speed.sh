#!/usr/bin/env bash
# Times whole runs of the program beside `rg -c ''` over the same files in the same run, and prints ratios.
#
#   benches/speed.sh [FILES [FINDINGS]]     default: 10000 files, 20 findings in each file of the second folder
#
# Needs hyperfine, rg (Debian: hyperfine, ripgrep) and GNU time (Debian: time). A tool that is missing is a failure.
# The limits are those of docs/speed.md; the exit status is 1 when one of them is passed.
set -eu
cd "$(dirname "$0")/.."

files=${1:-10000}
findings=${2:-20}
for tool in hyperfine rg jq /usr/bin/time; do
    command -v "$tool" >/dev/null || { echo "speed.sh: $tool is missing" >&2; exit 1; }
done

cargo build --release --quiet --bin walkaround --example generate_fleet
program=$PWD/target/release/walkaround
generate=$PWD/target/release/examples/generate_fleet
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

"$generate" --files "$files" --out "$work/clean"
"$generate" --files "$files" --findings-per-file "$findings" --out "$work/full"
"$generate" --files 1 --out "$work/one"

passed=0

# measure NAME FOLDER LIMIT: the mean time of an inspection over that of the other program, beside its limit.
measure() {
    local name=$1 folder=$2 limit=$3
    # Each command's first runs fill the page cache. Findings make the exit status 1: that is no failure here.
    hyperfine --shell none --warmup 3 --ignore-failure --export-json "$work/times.json" --style none \
        --output null "$program inspect $folder" "rg -c '' $folder" >/dev/null 2>&1
    jq -r --arg name "$name" --argjson limit "$limit" '
        .results as [$ours, $other]
        | ($ours.mean / $other.mean) as $ratio
        | [$name, ($ours.mean * 1000 | round), ($other.mean * 1000 | round), ($ratio * 100 | round / 100), $limit]
        | "\(.[0])\t\(.[1]) ms\t\(.[2]) ms\t\(.[3])\tlimit \(.[4])"' "$work/times.json"
    jq -e --argjson limit "$limit" '.results as [$ours, $other] | $ours.mean / $other.mean <= $limit' \
        "$work/times.json" >/dev/null || passed=1
}

# memory NAME FOLDER: peak memory of an inspection over the bytes it read.
memory() {
    local name=$1 folder=$2 peak bytes
    /usr/bin/time -f %M -o "$work/peak" "$program" inspect "$folder" >/dev/null 2>&1 || true
    peak=$(tail -n 1 "$work/peak")
    bytes=$(find "$folder" -type f -name '*.rig' -printf '%s\n' | awk '{ sum += $1 } END { print sum }')
    awk -v name="$name" -v peak="$peak" -v bytes="$bytes" 'BEGIN {
        ratio = peak * 1024 / bytes
        printf "%s\t%.1f MB\t%.1f MB\t%.2f\tlimit 0.5\n", name, peak * 1024 / 1e6, bytes / 1e6, ratio
        exit ratio > 0.5
    }' || passed=1
}

printf 'what\twalkaround\tbeside\tratio\tlimit\n'
measure "one file" "$work/one" 0.8
measure "$files clean files" "$work/clean" 2.5
measure "$files files full of findings" "$work/full" 2.5
memory "peak memory, $files clean files" "$work/clean"
memory "peak memory, $files files full of findings" "$work/full"
exit "$passed"
