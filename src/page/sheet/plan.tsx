import type { LayoutPlan, PlanItem } from '../../core/model/layout-plan.ts';
import { countInWords, roundedSize } from '../../core/text/words.ts';
import { Words } from './marks.tsx';

const actionWords: Readonly<Record<PlanItem['action'], string>> = {
  withdraw: 'withdraw',
  'set-aside': 'set aside',
  remove: 'remove',
  keep: 'keep',
  'make-folder': 'make folder',
  write: 'write',
  record: 'record',
};

const mostShown = 200;

/** Exactly what would be written, in the order in which it is done. */
export function Plan({ plan }: { plan: LayoutPlan }) {
  const { items, untouched, nothingToDo } = plan;
  if (nothingToDo) return <p>The stick already holds exactly this. All of it is read back; nothing is written.</p>;
  const shown = items.slice(0, mostShown);
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: what scrolls is scrolled by keyboard too
    <section class="plan-box" aria-label="What would be written" tabIndex={0}>
      <table class="plan">
        <caption>
          In this order; {roundedSize(plan.freeBytesAfter)} free afterwards
          {untouched.length === 0 ? '' : `; ${countInWords(untouched.length, 'other file')} left as they are`}
        </caption>
        <thead>
          <tr>
            <th scope="col">What</th>
            <th scope="col">Where</th>
            <th scope="col" class="number">
              Bytes
            </th>
          </tr>
        </thead>
        <tbody>
          {shown.map((item, at) => (
            <tr key={at} class={item.action}>
              <td>{actionWords[item.action]}</td>
              <td>
                <Words>{item.path}</Words>
                {'to' in item && item.to !== undefined ? (
                  <>
                    {' → '}
                    <Words>{item.to}</Words>
                  </>
                ) : null}
              </td>
              <td class="number">{'bytes' in item ? item.bytes.toLocaleString('en-US') : ''}</td>
            </tr>
          ))}
        </tbody>
      </table>
      {items.length > mostShown ? <p>… and {countInWords(items.length - mostShown, 'more step')}.</p> : null}
    </section>
  );
}
