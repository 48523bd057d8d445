# bash completion for ullage: verbs and options as the program's own --help lists them.

_ullage() {
  local word=${COMP_WORDS[COMP_CWORD]} before=${COMP_WORDS[COMP_CWORD - 1]} program=${COMP_WORDS[0]} words
  COMPREPLY=()
  if [ "$COMP_CWORD" -eq 1 ]; then
    words="$("$program" --help 2>/dev/null | sed -n 's/^  ullage \([a-z]*\) .*/\1/p') --help --version"
  elif [[ $word == -* ]]; then
    words=$("$program" "${COMP_WORDS[1]}" --help 2>/dev/null | sed -n 's/^  \(--*[a-z-]*\) .*/\1/p')
  else
    # a value that is one of a few, a|b|c in the help
    words=$("$program" "${COMP_WORDS[1]}" --help 2>/dev/null | sed -n "s/^  $before \([a-z0-9|-]*|[a-z0-9-]*\) .*/\1/p" | tr '|' ' ')
  fi
  if [ -n "$words" ]; then
    mapfile -t COMPREPLY < <(compgen -W "$words" -- "$word")
  else
    compopt -o filenames 2>/dev/null
    mapfile -t COMPREPLY < <(compgen -f -- "$word")
  fi
}
complete -F _ullage ullage
