#include "cli/render/completion_scripts.h"

namespace benchproof {
namespace {

// Each hands the words up to the cursor to the program (`completions-for`), and shows
// what it answers: what files may stand there, then a candidate a line.

constexpr std::string_view kBash =
    R"(# bash completion of benchproof: the program itself says what may stand at the cursor.
# To try it:  source <(benchproof completions bash)

_benchproof() {
  local words=() answer=() k part reply
  local program=${1/#\~/$HOME} cursor=${COMP_WORDS[COMP_CWORD]}
  # bash takes "=" and ":" for words of their own, and leaves quotes where they are.
  for ((k = 1; k <= COMP_CWORD; ++k)); do
    part=${COMP_WORDS[k]}
    if ((k > 1)) && [[ $part == [=:]* || ${COMP_WORDS[k - 1]} == [=:] ]]; then
      words[-1]+=$part
    else
      words+=("$part")
    fi
  done
  local head=${words[-1]%"$cursor"}
  [[ $cursor == [=:] ]] && head=${words[-1]} cursor=
  mapfile -t answer < <("$program" completions-for "${words[@]//[\\\"\']/}" 2>/dev/null)
  COMPREPLY=()
  for reply in "${answer[@]:1}"; do
    reply=${reply%%$'\t'*}
    reply=${reply#"$head"}
    [[ $cursor == [\"\']* ]] || printf -v reply %q "$reply"
    COMPREPLY+=("$reply")
  done
  [[ ${#COMPREPLY[@]} -eq 1 && ${COMPREPLY[0]} == *[.=,] ]] && compopt -o nospace
  local files=()
  case ${answer[0]} in
    any) mapfile -t files < <(compgen -f -- "$cursor") ;;
    folders) mapfile -t files < <(compgen -d -- "$cursor") ;;
    descriptions)
      mapfile -t files < <(compgen -d -- "$cursor"
        compgen -f -X '!*.toml' -- "$cursor" | grep -v '\.recorded\.toml$') ;;
  esac
  if ((${#files[@]})); then
    compopt -o filenames
    COMPREPLY+=("${files[@]}")
  fi
}
complete -F _benchproof benchproof
)";

constexpr std::string_view kZsh = R"(#compdef benchproof
# zsh completion of benchproof: the program itself says what may stand at the cursor.
# To try it:  source <(benchproof completions zsh)

_benchproof() {
  local program=${${(Q)words[1]}/#\~/$HOME} line name
  local -a answer whole wholes begun begins
  answer=("${(@f)$($program completions-for "${(@Q)words[2,CURRENT-1]}" "${(Q)PREFIX}" 2>/dev/null)}")
  for line in "${(@)answer[2,-1]}"; do
    name=${line%%$'\t'*}
    if [[ $name == *[.=,] ]]; then
      begun+=("$name") begins+=("${line/$'\t'/  -- }")
    else
      whole+=("$name") wholes+=("${line/$'\t'/  -- }")
    fi
  done
  (( $#whole )) && compadd -l -d wholes -a whole
  (( $#begun )) && compadd -l -S '' -d begins -a begun
  case $answer[1] in
    any) _files ;;
    folders) _files -/ ;;
    descriptions) _files -g '*.toml~*.recorded.toml' ;;
  esac
}
if [[ $funcstack[1] == _benchproof ]]; then
  _benchproof "$@"
else
  compdef _benchproof benchproof
fi
)";

constexpr std::string_view kFish =
    R"(# fish completion of benchproof: the program itself says what may stand at the cursor.
# To try it:  benchproof completions fish | source

function __benchproof_answer
    set -l words (commandline -opc)
    set -l program (string replace -r '^~' $HOME -- $words[1])
    set -l cursor (commandline -ct | string replace -ar '[\\\\"\']' '')
    set -l answer ($program completions-for $words[2..-1] "$cursor" 2>/dev/null)
    switch "$answer[1]"
        case any
            __fish_complete_path $cursor
        case folders
            __fish_complete_directories $cursor
        case descriptions
            __fish_complete_path $cursor | string match -re '/(\t|$)|\.toml(\t|$)' \
                | string match -rve '\.recorded\.toml(\t|$)'
    end
    for line in $answer[2..-1]
        echo $line
    end
end
complete -c benchproof -f -a '(__benchproof_answer)'
)";

}  // namespace

const std::vector<CompletedShell>& completed_shells() {
  static const std::vector<CompletedShell> kShells = {
      {"bash", "bash-completion/completions/benchproof", kBash},
      {"zsh", "zsh/site-functions/_benchproof", kZsh},
      {"fish", "fish/vendor_completions.d/benchproof.fish", kFish}};
  return kShells;
}

}  // namespace benchproof
