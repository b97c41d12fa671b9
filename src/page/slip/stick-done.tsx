import type { StickInDocument } from '../sheet/answers.ts';
import { WipeBand, Words } from '../sheet/marks.tsx';
import { AtThePanel, Eject } from '../sheet/stick-after.tsx';
import { attempt } from '../state.ts';
import { ask } from '../talk.ts';

/** A stick that carries its record: its code, its tag, how it is let go of, and what to do at the panel. */
export function StickDone({ stick: { target, state, verdict, manifest }, id }: { stick: StickInDocument; id: string }) {
  // What was found after the writing sends it nowhere: its findings say what to do.
  if (manifest === null || verdict === 'not-ready' || (state !== 'written' && state !== 'unchanged')) return null;
  return (
    <>
      <p class="stick-code">
        Stick code <b>{manifest.stick}</b>, for <b>{manifest.label.text}</b>
      </p>
      {manifest.keepsData ? null : (
        <WipeBand>EVERYTHING ON THE PANEL IS WIPED. Only with approval, and after a backup.</WipeBand>
      )}
      <p class="buttons">
        <button type="button" onClick={() => void attempt(() => openTag(id, target))}>
          Tag to print<span class="unseen">: {manifest.stick}</span>
        </button>
        <Eject target={target} />
      </p>
      <AtThePanel manifest={manifest} />
      <p>
        When it is out, plug it in again and verify it before the walk. Into no other panel: compare its plate with{' '}
        <Words>{manifest.label.text}</Words>.
      </p>
    </>
  );
}

/** A page of its own, at an address that is good once; the window is opened by the press, so that nothing blocks it. */
async function openTag(id: string, target: string): Promise<void> {
  const sheet = window.open('', '_blank');
  try {
    const { address } = await ask<{ address: string }>('POST', `/api/work/${id}/tag`, { target });
    if (sheet === null) location.assign(address);
    else sheet.location.replace(address);
  } catch (error) {
    sheet?.close();
    throw error;
  }
}
