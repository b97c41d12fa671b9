import { entryInWords, itemInWords, whyItStays } from '../../core/report/medium-words.ts';
import { inWindow } from '../../core/text/in-window.ts';
import { countInWords, exactSize, quoteWord } from '../../core/text/words.ts';
import type { ReturnedDocument } from '../sheet/answers.ts';
import { type FindingSeen, Findings } from '../sheet/findings.tsx';
import { Words } from '../sheet/marks.tsx';

/** Stops that the command lifts with one word; here a button would be pressed by habit. */
const meant: ReadonlySet<string> = new Set(['stick/not-a-removable-drive', 'stick/drives-not-listed']);

/** The one command that clears what is no removable USB stick. */
export const ClearLine = ({ target }: { target: string }) => (
  <code class="block">{['stickwright', 'verify', target, '--returned', '--clear'].map(quoteWord).join(' ')} --yes</code>
);

/** Every path that goes and every path that stays, however many they are: this is what is agreed to. */
export function ClearingPart({
  clearing,
  target,
}: Pick<ReturnedDocument['returned'], 'clearing'> & { target: string }) {
  const { plan, findings, state } = clearing;
  const cure = ({ code, severity }: FindingSeen) =>
    severity === 'stop' && meant.has(code) ? <ClearLine target={target} /> : null;
  if (plan === null || state === 'refused') return <Findings findings={findings} cure={cure} />;
  const { goes, stays, kept, freedBytes, settlesDirtyMark } = plan;
  return (
    <>
      <Findings findings={findings} />
      <table class="plan">
        <caption>
          {state === 'cleared' ? 'Cleared' : 'Clearing it for the next job would take away'}{' '}
          {countInWords(goes.filter(({ action }) => action === 'remove').length, 'file or folder', 'files and folders')}
          , {exactSize(freedBytes)}
        </caption>
        <thead>
          <tr>
            <th scope="col">What</th>
            <th scope="col">Where</th>
            <th scope="col">Why</th>
          </tr>
        </thead>
        <tbody>
          {kept.map((entry) => (
            <Row key={`keep ${entry.path}`} verb="keep" path={entry.path} why="copied to the desk first" />
          ))}
          {settlesDirtyMark ? (
            <Row verb="mark" path="the volume" why="as ejected; it was checked and is sound" />
          ) : null}
          {goes.map((item) => (
            <Row key={`${item.action} ${item.path}`} verb={item.action} path={item.path} why={itemInWords(item)} />
          ))}
          {stays.map((entry) => (
            <Row key={`stays ${entry.path}`} verb="stays" path={entryInWords(entry)} why={whyItStays[entry.what]} />
          ))}
        </tbody>
      </table>
    </>
  );
}

const Row = ({ verb, path, why }: { verb: string; path: string; why: string }) => (
  <tr class={verb}>
    <td>{verb}</td>
    <td>
      <Words>{path}</Words>
    </td>
    <td>{inWindow(why)}</td>
  </tr>
);
