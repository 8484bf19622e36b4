/**
 * Scripts that complete the words of the command line in a shell, made from the same tables that read them.
 */

import { catalogue } from '../answers/commands.ts';
import type { OptionSpec, OptionTable } from '../answers/options/command.ts';
import { BenchError } from '../bench/bench-error.ts';
import { didYouMean } from '../bench/nearest-name.ts';

const SHELLS = ['bash', 'zsh', 'fish'] as const;
type Shell = (typeof SHELLS)[number];

interface Known {
  name: string;
  summary: string;
  options: [string, OptionSpec][];
}

/**
 * The script for a shell.
 *
 * @param words  what follows `completion` on the line
 * @throws BenchError for another shell or none
 * @example await completionScript(['bash'], {}) // '# Completion of heatladder for bash: …'
 */
export async function completionScript(words: readonly string[], shared: OptionTable): Promise<string> {
  const [shell = '', ...more] = words;
  if (!(SHELLS as readonly string[]).includes(shell) || more.length > 0) {
    const what =
      words.length === 0
        ? 'the shell is missing'
        : `"${words.join(' ')}" is not a shell with completion here`;
    throw new BenchError(
      'completion',
      0,
      0,
      `${what}${didYouMean(shell, SHELLS)}; give heatladder completion ${SHELLS.join('|')}`,
    );
  }
  const commands = await Promise.all(
    catalogue.map(async ({ name, summary, load }): Promise<Known> => {
      const { options } = await load();
      return { name, summary, options: Object.entries({ ...options(), ...shared }) };
    }),
  );
  return { bash, zsh, fish }[shell as Shell](commands);
}

const takesFile = (spec: OptionSpec) => spec.value === 'FILE';

function bash(commands: readonly Known[]): string {
  const options = commands.map(({ name, options: table }) => {
    const words = table.flatMap(([option, { alias }]) => [...(alias ? [`-${alias}`] : []), `--${option}`]);
    return `    ${name}) options='${words.join(' ')}' ;;`;
  });
  return `# Completion of heatladder for bash: put \`source <(heatladder completion bash)\` into ~/.bashrc.
_heatladder() {
  local word=\${COMP_WORDS[COMP_CWORD]} command='' options='--help --version' i
  for ((i = 1; i < COMP_CWORD; i++)); do
    if [[ \${COMP_WORDS[i]} != -* ]]; then
      command=\${COMP_WORDS[i]}
      break
    fi
  done
  case $command in
${options.join('\n')}
  esac
  if [[ $word == -* ]]; then
    COMPREPLY=($(compgen -W "$options" -- "$word"))
  elif [[ -z $command ]]; then
    COMPREPLY=($(compgen -W '${commands.map(({ name }) => name).join(' ')}' -- "$word"))
  else
    local IFS=$'\\n'
    COMPREPLY=($(compgen -f -- "$word"))
  fi
}
complete -o filenames -F _heatladder heatladder
`;
}

function zsh(commands: readonly Known[]): string {
  const quoted = (text: string) => `'${text.replaceAll("'", "'\\''")}'`;
  const plain = (text: string) => text.replace(/[[\]:\\]/g, (sign) => `\\${sign}`);
  const cases = commands.map(({ name, options }) => {
    const rows = options.flatMap(([option, spec]) => {
      const value = spec.value === undefined ? '' : `:${spec.value}:${takesFile(spec) ? '_files' : ''}`;
      const names = [...(spec.alias ? [`-${spec.alias}`] : []), `--${option}`];
      return names.map((word) => `        ${quoted(`${word}[${plain(spec.describe)}]${value}`)} \\`);
    });
    return `    ${name})\n      _arguments \\\n${rows.join('\n')}\n        '1:folder:_files -/'\n      ;;`;
  });
  return `#compdef heatladder
# Completion of heatladder for zsh: put \`source <(heatladder completion zsh)\` into ~/.zshrc, after compinit.
_heatladder() {
  local -a commands
  commands=(
${commands.map(({ name, summary }) => `    ${quoted(`${name}:${plain(summary)}`)}`).join('\n')}
  )
  if ((CURRENT == 2)); then
    _describe command commands
    return
  fi
  local command=$words[2]
  shift words
  ((CURRENT--))
  case $command in
${cases.join('\n')}
  esac
}
compdef _heatladder heatladder
`;
}

function fish(commands: readonly Known[]): string {
  const quoted = (text: string) => `'${text.replaceAll('\\', '\\\\').replaceAll("'", "\\'")}'`;
  const lines = commands.flatMap(({ name, summary, options }) => [
    `complete -c heatladder -n __fish_use_subcommand -a ${name} -d ${quoted(summary)}`,
    ...options.map(([option, spec]) => {
      const short = spec.alias ? ` -s ${spec.alias}` : '';
      const value = spec.value === undefined ? '' : takesFile(spec) ? ' -r -F' : ' -x';
      return `complete -c heatladder -n '__fish_seen_subcommand_from ${name}' -l ${option}${short}${value} -d ${quoted(spec.describe)}`;
    }),
  ]);
  return `# Completion of heatladder for fish: heatladder completion fish > ~/.config/fish/completions/heatladder.fish
complete -c heatladder -f
${lines.join('\n')}
complete -c heatladder -n 'not __fish_use_subcommand' -a '(__fish_complete_directories)'
`;
}
