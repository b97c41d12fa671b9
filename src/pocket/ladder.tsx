import type { Ladder, Rung } from '../core/rounds/records/failure-ladder.ts';
import { onPaper } from '../core/text/on-paper.ts';
import { CopyField, Told } from './marks.tsx';
import { texts } from './texts.ts';

/** What comes next where it failed, by the desk's own ladder, with this room's facts; and what the maker is asked. */
export function LadderOf({ ladder }: { readonly ladder: Ladder }) {
  const head = ladder.way === 'over-the-air' ? texts.ladderAir : ladder.isOver ? texts.ladderOver : texts.ladderOne;
  return (
    <section class="ladder" id="ladder">
      <h2>{texts.ladder}</h2>
      <Told kind={ladder.isOver ? 'stop' : 'mind'}>{head}</Told>
      <ol>
        {ladder.rungs.map((rung) => (
          <li class={rung.state}>
            <span class="stamp">{texts.rung[rung.state]}</span> <b>{rung.title}</b>
            {(rung.state === 'next' || rung.state === 'after') && <p>{whatOf(rung)}</p>}
          </li>
        ))}
      </ol>
      {ladder.recovery !== undefined && <Told kind="stop">{onPaper(ladder.recovery)}</Told>}
      {ladder.stopAtOnce.map((text) => (
        <p class="mind">{text}</p>
      ))}
      <CopyField label={texts.message} text={ladder.message} />
    </section>
  );
}

/** A rung with a command is for the desk; what of it helps at the panel is said here. */
function whatOf({ name, what, command }: Rung): string {
  const said = texts.rungAtPanel[name] ?? onPaper(what);
  return command === undefined || texts.rungAtPanel[name] !== undefined ? said : `${said} ${texts.atDesk}`;
}
