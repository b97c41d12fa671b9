import { type DeskItem, deskStateWords } from '../../core/guide/judge-desk.ts';
import type { SettingSeen } from '../../core/model/settings.ts';
import { inMargin, type Look, painter, tame } from './page.ts';

const fromWords = { environment: 'from the variable', file: 'from the file below', default: 'as it comes' };

interface ShownSettings {
  readonly path: string;
  readonly seen: readonly SettingSeen[];
  readonly changed: string | undefined;
}

/** Every setting with its value, where that comes from, and what would beat it. */
export function renderSettings({ path, seen, changed }: ShownSettings, look: Look): string {
  const paint = painter(look);
  const margin = Math.max(...seen.map(({ setting }) => setting.name.length)) + 5;
  const lines = seen.map(({ setting, value, from, objection }) => {
    const beats = [...(setting.word === undefined ? [] : [setting.word]), setting.variable].join(', ');
    return [
      inMargin(setting.name, `${tame(value)}  (${fromWords[from]})`, margin, look),
      ...(objection === undefined
        ? []
        : [inMargin('', paint('red', `cannot be used: ${tame(objection)}`), margin, look)]),
      inMargin('', `${setting.what} (beaten by ${beats})`, margin, look),
    ].join('\n');
  });
  const said = changed === undefined ? '' : `${tame(changed)}\n\n`;
  return `${said}${lines.join('\n')}\n\nKept in ${tame(path)}\nTo change one: stickwright settings set NAME VALUE\n`;
}

/** One thing a desk has, or has not, and what to do. */
export function renderDesk(items: readonly DeskItem[], look: Look): string {
  const paint = painter(look);
  const lines = items.map(({ title, state, detail, todo }) => {
    const head = `${deskStateWords[state].padEnd(8)}${tame(detail)}`.trimEnd();
    const said = inMargin(title, state === 'broken' ? paint(['bold', 'red'], head) : head, 12, look);
    return todo === '' ? said : `${said}\n${inMargin('', todo, 20, look)}`;
  });
  const broken = items.filter(({ state }) => state === 'broken').length;
  const end = broken === 0 ? 'Nothing that is needed is broken.' : `${broken} to mend.`;
  return `${lines.join('\n')}\n\n${end}\n`;
}
