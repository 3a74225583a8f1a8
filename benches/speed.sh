#!/usr/bin/env bash
# Times whole runs of the program beside `rg -c ''` over the same files in the same run, and prints ratios.
#
#   benches/speed.sh [FILES [FINDINGS]]     default: 10000 files, 20 findings in each file of the second folder
#
# Needs hyperfine, rg (Debian: hyperfine, ripgrep) and GNU time (Debian: time). A tool that is missing is a failure.
# Each figure stands beside two limits of docs/speed.md: the one that must be kept and the one that should be. The exit
# status is 1 when one that must be kept is passed.
set -eu
files=${1:-10000}
findings=${2:-20}
. "$(dirname "$0")/common.sh" hyperfine rg jq /usr/bin/time

"$generate" --files "$files" --out "$work/clean"
"$generate" --files "$files" --findings-per-file "$findings" --out "$work/full"
"$generate" --files 1 --out "$work/one"
"$generate" --files "$((files / 10))" --out "$work/tenth"

# As it is installed: a copy lies otherwise in the page cache than what a linker wrote, and starts faster.
cp "$program" "$work/walkaround"
program=$work/walkaround

missed=0

# times COMMAND...: mean wall time and processor time of each command line, in ms, into $work/times.
times() {
    # Each command's first runs fill the page cache. Findings make the exit status 1: that is no failure here.
    hyperfine --shell none --warmup 3 --ignore-failure --export-json "$work/times.json" --style none \
        --output null "$@" >/dev/null 2>&1
    jq -r '.results[] | [.mean * 1000, (.user + .system) * 1000] | @tsv' "$work/times.json" >"$work/times"
}

# row WHAT OURS OTHER UNIT MUST SHOULD: prints a ratio beside its limits; `-` is none.
row() {
    awk -v what="$1" -v ours="$2" -v other="$3" -v unit="$4" -v must="$5" -v should="$6" 'BEGIN {
        ratio = ours / other
        word = ratio <= should ? "kept" : ratio <= must ? "kept, not what it should be" : "missed"
        word = must == "-" ? "" : word
        printf "%s\t%.1f %s\t%.1f %s\t%.2f\t%s\t%s\t%s\n", what, ours, unit, other, unit, ratio, must, should, word
        exit must != "-" && ratio > must
    }' || missed=1
}

wall() { sed -n "$1p" "$work/times" | cut -f 1; }
processor() { sed -n "$1p" "$work/times" | cut -f 2; }

# memory WHAT FOLDER MUST SHOULD: peak memory of an inspection over the bytes it read.
memory() {
    local peak bytes
    /usr/bin/time -f %M -o "$work/peak" "$program" inspect "$2" >/dev/null 2>&1 || true
    peak=$(tail -n 1 "$work/peak")
    bytes=$(find "$2" -type f -name '*.rig' -printf '%s\n' | awk '{ sum += $1 } END { print sum }')
    row "$1" "$(awk -v kilo="$peak" 'BEGIN { print kilo * 1024 / 1e6 }')" \
        "$(awk -v bytes="$bytes" 'BEGIN { print bytes / 1e6 }')" MB "$3" "$4"
}

printf 'what\twalkaround\tbeside\tratio\tmust\tshould\t\n'
times "$program inspect $work/one" "rg -c '' $work/one"
row "one file, beside rg" "$(wall 1)" "$(wall 2)" ms 0.8 0.6
times "$program inspect $work/clean" "rg -c '' $work/clean" "$program inspect $work/full" \
    "$program inspect $work/tenth" "$program inspect --rules house/secret $work/clean"
row "$files clean files, beside rg" "$(wall 1)" "$(wall 2)" ms 8 5
row "the same, processor time" "$(processor 1)" "$(processor 2)" ms - -
row "reading them alone, beside rg" "$(wall 5)" "$(wall 2)" ms - -
row "$findings findings in every file, beside clean" "$(wall 3)" "$(wall 1)" ms 4 4
row "$files clean files, beside a tenth of them" "$(wall 1)" "$(wall 4)" ms 11 11
times "$program inspect $work/clean" "env RAYON_NUM_THREADS=1 $program inspect $work/clean"
row "all threads beside one (for two cores)" "$(wall 1)" "$(wall 2)" ms 0.65 0.65
memory "peak memory, $files clean files, beside their bytes" "$work/clean" 8 4
memory "peak memory, files full of findings, beside their bytes" "$work/full" - -
exit "$missed"
