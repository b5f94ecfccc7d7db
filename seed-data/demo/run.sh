#!/bin/sh
# SPDX-License-Identifier: MIT
#
# run.sh: the main job in front of you, on the stock of an invented dealer.
#
#     seed-data/demo/run.sh [--once] [--in FOLDER]
#
# Everything goes through build/quadrille (or $QUADRILLE) and its command line.  A daemon is started
# on a free port of this machine, with a new data folder; the stock is loaded; then a fresh batch is
# logged, graded and matched, and an equivalent is looked up.  The pages stay up until Ctrl-C.
#
#     --once       end after the summary instead (so does ONCE=1 in the environment)
#     --in FOLDER  work in this folder, which must be new, and keep it; without it the folder is
#                  a new one beside the program and goes when the demo ends
set -u
LC_ALL=C
export LC_ALL

seed=$(cd "$(dirname "$0")" && pwd)
q=${QUADRILLE:-$seed/../../build/quadrille}
once=${ONCE:-}
in=
while [ $# -gt 0 ]; do
    case $1 in
    --once) once=yes ;;
    --in)
        [ $# -gt 1 ] || { echo "run.sh: --in needs a folder after it" >&2; exit 2; }
        in=$2
        shift
        ;;
    --help) sed -n '3,/^set -u/s/^# \{0,1\}//p' "$0"; exit 0 ;;
    *) echo "run.sh: there is no \"$1\" here; there are --once and --in FOLDER" >&2; exit 2 ;;
    esac
    shift
done
[ -x "$q" ] || { echo "run.sh: $q is not there: make builds it" >&2; exit 1; }
case $q in /*) ;; *) q=$(cd "$(dirname "$q")" && pwd)/$(basename "$q") ;; esac

if [ -n "$in" ]; then
    mkdir "$in" || exit 1
    work=$(cd "$in" && pwd)
else
    work=$(mktemp -d "$(dirname "$q")/demo.XXXXXX") || exit 1
fi
QUADRILLE_DATA=$work/data
export QUADRILLE_DATA
daemon=

# ---- ending -------------------------------------------------------------------------------------
stop() { # the daemon's own exit status
    status=0
    if [ -n "$daemon" ]; then
        kill "$daemon" 2>/dev/null
        wait "$daemon" || status=$?
        daemon=
    fi
    [ -n "$in" ] || rm -rf "$work"
    return "$status"
}

die() { # from a subshell too: the shell that started the daemon ends the demo
    printf '\nrun.sh: %s\n' "$1" >&2
    [ ! -s "$work/problems" ] || head -n 5 "$work/problems" >&2
    kill -USR1 $$
    exit 1
}

trap 'echo; stop; exit 0' INT TERM HUP
trap 'stop; exit 1' USR1

# ---- asking -------------------------------------------------------------------------------------
ask() { # a command whose failure ends the demo; its answer is standard output
    "$q" "$@" 2>>"$work/problems" || die "\"quadrille $1 $2\" failed"
}

rows() { # FILE: its lines without the head
    tail -n +2 "$seed/$1"
}

number() { # NAME: the number that a JSON answer on standard input has under it
    grep -o "\"$1\":-\{0,1\}[0-9]*" | head -n 1 | cut -d : -f 2
}

text() { # NAME: the text that it has under it, as often as it stands there
    grep -o "\"$1\":\"\([^\"\\\\]\|\\\\.\)*\"" | sed "s/^\"$1\":\"//; s/\"\$//; s/\\\\\\(.\\)/\\1/g"
}

say() { # LABEL WORDS: a line of the summary
    printf '%-10s %s\n' "$1" "$2"
}

short() { # cut what would run over the edge of a screen
    LC_ALL=C.UTF-8 sed 's/^\(.\{97\}\)....*$/\1.../'
}

wrap() { # SPACES: fold standard input, and set its further lines in by so many
    fold -s -w $((98 - $1)) | sed "s/ *\$//; 1!s/^/$(printf "%$1s" "")/"
}

# ---- the house ----------------------------------------------------------------------------------
began=$(date +%s)
printf 'Starting the house and loading the stock of an invented dealer ...\n'
"$q" serve --data "$work/data" --listen 127.0.0.1 --port 0 2>"$work/log" &
daemon=$!
url=
while [ -z "$url" ]; do
    kill -0 "$daemon" 2>/dev/null || { cat "$work/log" >&2; die "the daemon did not start"; }
    sleep 0.1
    url=$(sed -n 's/.* event=listening url=\([^ ]*\).*/\1/p' "$work/log")
done
token=$(sed -n 's/^    \([A-Za-z0-9_-]\{20,\}\)$/\1/p' "$work/log")
password=$(od -An -tx1 -N6 /dev/urandom | tr -d ' \n')

rows people.csv | {
    IFS=, read -r name role shown
    printf '{"token":"%s","name":"%s","shown":"%s","password":"%s"}' \
        "$token" "$name" "$shown" "$password" | ask api POST /api/setup --body - >/dev/null
    while IFS=, read -r name role shown; do
        echo "$password" | ask person add "$name" "$role" --shown "$shown" >/dev/null
    done
} || die "the owner's account was not made"

# ---- the stock ----------------------------------------------------------------------------------
# A file as calls, one a line, for `quadrille api --lines`.  The columns are named in their order:
# NAME is a text of the body, NAME# a number, and : stands in the path instead.  What is empty is
# left out.
calls() { # FILE PATH NAME,NAME#,...
    rows "$1" | awk -F , -v path="$2" -v names="$3" '
        BEGIN { n = split(names, name, ",") }
        {
            body = ""
            at = path
            for (i = 1; i <= n; i++) {
                if (name[i] == ":") { gsub(/:/, $i, at); continue }
                quote = name[i] ~ /#$/ ? "" : "\""
                plain = name[i]
                sub(/#$/, "", plain)
                if ($i != "")
                    body = body (body == "" ? "" : ",") "\"" plain "\":" quote $i quote
            }
            print "POST " at " {" body "}"
        }'
}

small() { # every small file as calls of the API
    calls makers.csv /api/makers name,country,note
    calls constructions.csv /api/constructions title,maker,plate
    calls bins.csv /api/bins code,note
    calls lots.csv /api/lots code,title,bought,cost_minor#,currency,note
    calls lot-lines.csv /api/lots/:/lines :,printed,count#,maker
    sed 's|^|POST /api/testers |' "$seed/testers.json"
    sed 's|^{"designation": "\([^"]*\)", |POST /api/types/\1/test-points {|' "$seed/test-points.json"
}

load() { # KIND FILE [FLAGS]: the report is kept; refused lines are no failure
    kind=$1 file=$2
    shift 2
    "$q" load "$kind" "$seed/$file" --json "$@" >"$work/$file.json" 2>>"$work/problems"
    [ $? -le 1 ] && [ -n "$(number accepted <"$work/$file.json")" ] || die "$file was not loaded"
}

small | ask api --lines - >/dev/null || exit 1
load tubes tubes.csv
load readings readings.csv --confirm all

grades() { # LOT ...: how many tubes of these lots have which grade
    for lot in "$@"; do
        ask tube list --lot "$lot" --limit 500 --json | text grade
    done >"$work/grades"
    for grade in prime good fair weak reject; do
        printf '%s %s, ' "$grade" "$(grep -c "^$grade\$" "$work/grades")"
    done | sed 's/, $//'
}

types=$(rows tubes.csv | cut -d , -f 2 | sort -u | grep -c .)
lots=$(rows lots.csv | cut -d , -f 1 | grep -v L-2026-11)
# shellcheck disable=SC2086
stock_grades=$(grades $lots)
took=$(($(date +%s) - began))
tubes_kept=$(number accepted <"$work/tubes.csv.json")
readings_kept=$(number accepted <"$work/readings.csv.json")
echo
echo "Sprake & Vandermolen of Orrenby: an invented dealer, invented makers, invented readings"
say Stock "$tubes_kept tubes of $types types by $(rows makers.csv | grep -c .) makers and $readings_kept readings, loaded in $took s"
say "" "$stock_grades"

# ---- the fresh batch ----------------------------------------------------------------------------
load tubes fresh-tubes.csv
load readings fresh-readings.csv
report() { # LABEL FILE
    r=$work/$2.json
    say "$1" "$2: $(number lines <"$r") lines, $(number accepted <"$r") accepted, $(number refused <"$r") refused"
    sed 's/{"line":/\n&/g' "$r" | sed -n '/^{"line":/p' | while read -r problem; do
        say "" "line $(echo "$problem" | number line), $(echo "$problem" | text field) \"$(
            echo "$problem" | text came)\": $(echo "$problem" | text sentence)"
    done
}
{
    report "Logged" fresh-tubes.csv
    report "" fresh-readings.csv
} | short

batch() { ask tube list --lot L-2026-11 --limit 500 --json | sed 's/{"stock_no":/\n&/g'; }
grades L-2026-11 >"$work/fresh-grades"
say Graded "$(cat "$work/fresh-grades")"
# The first good tube that its transconductance keeps from being prime.
for tube in $(batch | grep '"grade":"good"' | text stock_no); do
    ask grade "$tube" --json >"$work/grade.json"
    why=$(sed 's/{"grade":/\n&/g' "$work/grade.json" | grep '"verdict":"missed","subject":"gm"' |
        head -n 1 | text text | sed 's/ (u [^)]*)//; s/; borderline.*//')
    if [ -n "$why" ]; then
        say "" "$tube is good and not prime: $why" | wrap 11
        break
    fi
done

# ---- sets ---------------------------------------------------------------------------------------
# Rejects are scrapped first, so that no set holds one.
rejects=$(ask tube list --grade reject --limit 500 --json | text stock_no)
for tube in $rejects; do
    echo "POST /api/tubes/$tube/moves {\"state\":\"scrapped\"}"
done | ask api --lines - >/dev/null || exit 1

sets() { # SIZE NAME: find, accept, tell
    ask match stock --family EL84 --demand "$1" --band 5% --json >"$work/$2.json"
    ask proposal accept "$(number proposal <"$work/$2.json")" --json >"$work/$2-sets.json"
    proven=
    grep -q '"count_proven":true' "$work/$2.json" && proven=", proven: there cannot be more; the closest:"
    say "" "$2: $(number found <"$work/$2.json") found of at most $(number bound <"$work/$2.json")$proven"
    sed 's/{"set_no":/\n&/g' "$work/$2.json" | grep '^{"set_no":' | head -n "$3" |
        while read -r set; do
            say "" "  $(echo "$set" | text stock_no | tr '\n' ' ')within $(echo "$set" |
                text 'ia\.[0-9]*' | grep % | head -n 1) in current, $(echo "$set" |
                text 'gm\.[0-9]*' | grep % | head -n 1) in transconductance"
        done
}
say Matched "EL84 and 6BQ5 within 5 % in plate current and transconductance, same maker and build"
sets 4 quads 2
sets 2 pairs 1

# ---- cross-reference ----------------------------------------------------------------------------

# TYPE SECTION: the types that its answer lists under this name, one a line, as
# "12AX7|same|94|found|conditions"
related() {
    ask api GET "/api/types/$1/equivalents" |
        sed -E 's/"(same|instead|serves)":\[/\n#\1\n/g; s/\{"type":/\n&/g' |
        sed -n "/^#$2/,/^#/p" | grep '^{"type":' | while read -r entry; do
        known=found
        [ "$(echo "$entry" | number remembered)" = 0 ] || known='from memory'
        printf '%s|%s|%s|%s|%s\n' "$(echo "$entry" | text type)" "$(echo "$entry" | text weakest)" \
            "$(echo "$entry" | number free)" "$known" "$(echo "$entry" |
                sed 's/.*"conditions":\["\([^]]*\)"\].*/\1/; t; s/.*//; s/","/; /g')"
    done
}

same=$(related ECC83 same | awk -F '|' '{ printf "%s%s", (NR > 1 ? ", " : ""), $1; if ($3 > 0) printf " (%s in stock)", $3 }')
say "Looked up" "ECC83 is the same tube as $same" | short
type=$(ask api GET "/api/lookup?text=6П6С" | text type | head -n 1)
related "$type" serves | head -n 1 | {
    IFS='|' read -r for how free known conditions
    say "" "6П6С is found as $type; it may stand in for $for ($how, $known): $conditions"
} | wrap 11

if [ -n "$once" ]; then
    stop || die "the daemon did not end well"
    printf 'Done in %s s; the daemon has ended.\n' $(($(date +%s) - began))
    exit 0
fi
printf 'The pages are at %s until Ctrl-C.  Sign in as ottoline (owner), jonas (bench) or\n' "$url"
printf 'mirela (counter), password %s.\n' "$password"
wait "$daemon"
stop
