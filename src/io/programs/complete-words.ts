import { RootCommand, ShellCompDirective } from '@bomb.sh/tab';

export const shells = ['bash', 'zsh', 'fish', 'powershell'] as const;

export type Shell = (typeof shells)[number];

/** A command as a shell completes it. */
export interface CompletedCommand {
  /** `shelf add`; empty for all of it. */
  readonly name: string;
  readonly description: string;
  readonly options: readonly CompletedOption[];
  readonly arguments: readonly {
    readonly name: string;
    readonly choices: readonly string[];
    readonly variadic: boolean;
  }[];
}

interface CompletedOption {
  /** Without its dashes. */
  readonly long: string;
  readonly short: string | undefined;
  readonly description: string;
  readonly takesValue: boolean;
  readonly choices: readonly string[];
}

/** What the library prints, which it does by itself. */
function printed(work: () => void): string {
  const lines: string[] = [];
  const print = console.log;
  console.log = (line: unknown) => void lines.push(`${String(line)}\n`);
  try {
    work();
  } finally {
    console.log = print;
  }
  return lines.join('');
}

const choosing = (choices: readonly string[]) => (complete: (value: string, description: string) => void) => {
  for (const choice of choices) complete(choice, '');
};

/** The candidates for the last of WORDS, a line each, and at the end how the shell is to go on. */
export function completionsFor(commands: readonly CompletedCommand[], words: readonly string[]): string {
  const root = new RootCommand();
  for (const { name, description, options, arguments: taken } of commands) {
    const command = name === '' ? root : root.command(name, description);
    for (const { long, short, description: what, takesValue, choices } of options) {
      if (takesValue) command.option(long, what, choosing(choices), short);
      else if (short === undefined) command.option(long, what);
      else command.option(long, what, short);
    }
    for (const one of taken) command.argument(one.name, choosing(one.choices), one.variadic);
  }
  const typed = words.map((word) => (word === emptyWord ? '' : word));
  const said = printed(() => root.parse(typed));
  // The library always forbids files; but where nothing of ours fits, it is a path that is typed.
  const ours = said.replace(/:\d+\n$/, '');
  return ours === '' ? `:${ShellCompDirective.ShellCompDirectiveDefault}\n` : said;
}

/**
 * The script that a shell reads once. In those for bash and PowerShell, what was typed so far is handed on as it is:
 * the library's own line would have the shell evaluate it, commands in it included, before anybody pressed Enter.
 */
export function completionScript(shell: Shell): string {
  const script = printed(() => new RootCommand().setup('stickwright', 'stickwright', shell));
  if (shell === 'bash') return inPlaceOf(script, inBash);
  return shell === 'powershell' ? inPlaceOf(script, inPowerShell) : script;
}

type Change = readonly [RegExp, () => string];

const inBash: readonly Change[] = [
  [/requestComp="stickwright complete -- \$\{words\[@\]:1\}"/, () => `local -a asked=("\${words[@]:1}")`],
  [/requestComp="\$requestComp ''"/, () => `asked[\${#asked[@]}-1]=""`],
  [/out=\$\(eval "\$requestComp" 2>\/dev\/null\)/, () => `out=$(stickwright complete -- "\${asked[@]}" 2>/dev/null)`],
  [/complete -F __stickwright_complete/, () => 'complete -o default -F __stickwright_complete'],
];

/** How PowerShell's script hands on that nothing was typed yet: an empty word gets lost on its way to a program. */
const emptyWord = '""';

const inPowerShell: readonly Change[] = [
  [/\$QuotedArgs = \(.*\) -join ' '/, () => `$Asked = @($Arguments -split ' ')`],
  [/__stickwright_debug "QuotedArgs: \$QuotedArgs"\n/, () => ''],
  [/\$RequestComp = "& stickwright complete '--' \$QuotedArgs"\n/, () => ''],
  [/__stickwright_debug "RequestComp: \$RequestComp"\n/, () => ''],
  [/\$QuotedArgs -match "\(\^\| \)''\$"/, () => `($Asked[-1] -eq '')`],
  [/# PowerShell 7\.2\+ changed[\s\S]*?\n {8}\}\n/, () => `$Asked += ''\n`],
  [
    /__stickwright_debug "Calling \$RequestComp"/,
    () => `$Asked = @($Asked | ForEach-Object { if ($_ -eq '') { '${emptyWord}' } else { $_ } })`,
  ],
  [
    /Invoke-Expression -OutVariable out "\$RequestComp" 2>&1 \| Out-Null/,
    () => `$Out = @(& stickwright complete '--' @Asked 2>$null)`,
  ],
];

function inPlaceOf(text: string, changes: readonly Change[]): string {
  return changes.reduce((changed, [from, to]) => {
    if (!from.test(changed)) throw new TypeError(`the library's script has no ${from.source} any more`);
    return changed.replace(from, to);
  }, text);
}
