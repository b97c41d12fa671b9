import { clearSlip } from '../state.ts';
import { LabelPart } from './label-part.tsx';
import { PackagePart } from './package-part.tsx';
import { beginAtTop, isUnderWay } from './slip-part.tsx';
import { StickPart } from './stick-part.tsx';
import { WayPart } from './way-part.tsx';
import { WritePart } from './write-part.tsx';

/** One stick's job from the label to the tag: one sheet that fills in from top to bottom. */
export function SlipSheet() {
  const anew = (): void => {
    beginAtTop();
    void clearSlip();
  };
  return (
    <div class="sheet slip">
      <div class="sheet-head">
        <h1>Job slip</h1>
        <button type="button" class="plain" disabled={isUnderWay.value} onClick={anew}>
          Take a new slip
        </button>
      </div>
      <LabelPart />
      <WayPart />
      <PackagePart />
      <StickPart />
      <WritePart />
      <p class="cautions">
        A panel is heavy and on mains: two people, and the maker's service document first. It comes before everything
        that stands here.
      </p>
    </div>
  );
}
