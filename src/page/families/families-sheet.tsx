import { countInWords } from '../../core/text/words.ts';
import { desk } from '../state.ts';
import { ByExample } from './by-example.tsx';
import { Confirm } from './confirm.tsx';
import { FamilyPlate } from './family-plate.tsx';
import { GivenFamily } from './given-family.tsx';
import { LabelList } from './label-list.tsx';
import { WidenAny } from './widen.tsx';

/** The families that this desk works with, a plate each; a new one by example, or from a colleague. */
export function FamiliesSheet() {
  const families = desk.value?.families ?? [];
  return (
    <div class="sheet families">
      <div class="sheet-head">
        <h1>Families</h1>
        <p>{countInWords(families.length, 'family', 'families')} of panels</p>
      </div>
      <GivenFamily />
      <ByExample />
      <WidenAny />
      <LabelList />
      {families.map((family) => (
        <FamilyPlate key={family.family} family={family}>
          <Confirm family={family} />
        </FamilyPlate>
      ))}
    </div>
  );
}
