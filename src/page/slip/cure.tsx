import { acceptedUnder } from '../../core/guide/slip.ts';
import { leftoverPolicies } from '../../core/model/mode.ts';
import { Widen } from '../families/widen.tsx';
import { Cure as CureOf, type Said } from '../sheet/cure.tsx';
import type { FindingSeen } from '../sheet/findings.tsx';
import { answers, write } from '../state.ts';

/** What lifts a stop of the slip's job; it is written on the slip. */
export function Cure({ found }: { found: FindingSeen }) {
  const said: Said = {
    leftovers: {
      policy: leftoverPolicies.find((policy) => policy === answers.value.leftovers) ?? 'stop',
      choose: (policy) => write({ leftovers: policy }),
    },
    reasonFor: (code) => answers.value[acceptedUnder + code] ?? '',
    accept: (code, reason) => write({ [acceptedUnder + code]: reason }),
    next: 'Look again what would be written',
    keptIn: "the stick's record",
  };
  return (
    <>
      {found.code === 'fit/package-digits-differ' ? <Widen text={found.subject} /> : null}
      <CureOf found={found} said={said} />
    </>
  );
}
