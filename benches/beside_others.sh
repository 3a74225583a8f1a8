#!/usr/bin/env bash
# Times a whole inspection beside general-purpose checkers over the same content in the same run, and prints ratios.
#
#   benches/beside_others.sh [FILES...]     default: 1 1000 10000
#
# The others look at less: a schema validator holds the JSON form against docs/rig.schema.json, a YAML linter looks at
# layout, rg counts lines. Their content is the same: `walkaround convert` writes the JSON, Python the YAML of it.
#
# Needs hyperfine, rg (Debian: hyperfine, ripgrep), jq, jsonschema-cli (cargo install jsonschema-cli), check-jsonschema and
# yamllint (pip). A tool that is missing is a failure. A tool that takes minutes for many files is timed over the first
# 1,000 only, and its time is multiplied: these tools take each file on its own.
set -eu
. "$(dirname "$0")/common.sh" hyperfine rg jq jsonschema-cli check-jsonschema yamllint python3
"$program" reference --schema >"$work/schema.json"

# Two-thirds of the time of the slow tools is their start, so one call gets many files.
slow_limit=1000

# time_of NAME COMMAND: the mean wall time in milliseconds of a command line, run in the folder of the files.
time_of() {
    hyperfine --shell bash --warmup 1 --runs "${runs:-5}" --ignore-failure --style none --output null \
        --export-json "$work/times.json" "$1" >/dev/null 2>&1
    jq '.results[0].mean * 1000' "$work/times.json"
}

printf 'files\tchecker\tms\tinspect / this\n'
for files in "${@:-1 1000 10000}"; do
    for count in $files; do
        rm -rf "$work/rig" "$work/json" "$work/yaml"
        "$generate" --files "$count" --out "$work/rig"
        mkdir -p "$work/json" "$work/yaml"
        find "$work/rig" -name '*.rig' | sort >"$work/list"
        # A twin of each file, without the ending that the program reads.
        nl -ba -w1 -s' ' "$work/list" | xargs -P 2 -L 1 sh -c \
            "$program"' convert "$2" >"'"$work"'/json/$1.json"' convert
        python3 - "$work" <<'PYTHON'
import json, pathlib, sys
import yaml
work = pathlib.Path(sys.argv[1])
dumper = getattr(yaml, "CSafeDumper", yaml.SafeDumper)
for path in (work / "json").glob("*.json"):
    text = yaml.dump(json.loads(path.read_text()), Dumper=dumper, sort_keys=False, explicit_start=True)
    (work / "yaml" / (path.stem + ".yaml")).write_text(text)
PYTHON
        few=$((count < slow_limit ? count : slow_limit))
        find "$work/json" -name '*.json' | sort | head -n "$few" >"$work/few-json"
        find "$work/yaml" -name '*.yaml' | sort | head -n "$few" >"$work/few-yaml"
        ours=$(time_of "$program inspect $work/rig")
        row() {
            awk -v files="$count" -v name="$1" -v theirs="$2" -v ours="$ours" -v times="$3" \
                'BEGIN { theirs *= times; printf "%d\t%s\t%.1f\t%.4f\n", files, name, theirs, ours / theirs }'
        }
        printf '%d\tinspect\t%.1f\t1\n' "$count" "$ours"
        row "rg -c ''" "$(time_of "rg -c '' $work/rig")" 1
        args=$(sed 's/^/-i /' "$work/few-json" | tr '\n' ' ')
        echo "jsonschema-cli validate $work/schema.json $args" >"$work/validate.sh"
        runs=2
        row "JSON Schema validator (Rust)" "$(time_of "bash $work/validate.sh")" $((count / few))
        row "JSON Schema validator (Python)" \
            "$(time_of "xargs check-jsonschema --schemafile $work/schema.json <$work/few-json")" $((count / few))
        row "YAML linter (Python)" "$(time_of "xargs yamllint -d relaxed <$work/few-yaml")" $((count / few))
        unset runs
    done
done
