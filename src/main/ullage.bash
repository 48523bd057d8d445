# bash completion for ullage: verbs, options and values as the program's own --help lists them.

# The words that the option $1 takes, of the help at stdin: a|b|c beside its name, or "a, b or c" in what is said of it. The name is
# compared, never made a pattern: what stands before the cursor may be anything.
_ullage_values() {
  name=$1 awk '
    !/^  / { mine = 0 }
    /^  -/ { mine = $1 == ENVIRON["name"]; if (mine) value = $2; $1 = $2 = "" }
    mine { said = said " " $0 }
    END {
      gsub(/ +/, " ", said)
      if (value ~ /^[a-z0-9-]+(\|[a-z0-9-]+)+$/) { gsub(/\|/, " ", value); print value }
      else if (match(said, /[a-z-]+(, [a-z-]+)+ or [a-z-]+/)) {
        list = substr(said, RSTART, RLENGTH); sub(/ or /, " ", list); gsub(/,/, "", list); print list
      }
    }'
}

_ullage() {
  local word=${COMP_WORDS[COMP_CWORD]} before=${COMP_WORDS[COMP_CWORD - 1]} program=${COMP_WORDS[0]} words=
  COMPREPLY=()
  if [ "$COMP_CWORD" -eq 1 ]; then
    words="$("$program" --help 2>/dev/null | sed -n 's/^  ullage \([a-z]*\) .*/\1/p') --help --version"
  elif [[ $word == -* ]]; then
    words=$("$program" "${COMP_WORDS[1]}" --help 2>/dev/null | sed -n 's/^  \(--*[a-z-]*\).*/\1/p')
  elif [[ $before == -* ]]; then
    words=$("$program" "${COMP_WORDS[1]}" --help 2>/dev/null | _ullage_values "$before")
  fi
  if [ -n "$words" ]; then
    mapfile -t COMPREPLY < <(compgen -W "$words" -- "$word")
  else
    compopt -o filenames 2>/dev/null
    mapfile -t COMPREPLY < <(compgen -f -- "$word")
  fi
}
complete -F _ullage ullage
