import type { Manifest } from '../../core/model/manifest.ts';
import { clearingWords, conclusionWords, lossesInWords, planInWords } from '../../core/report/medium-words.ts';
import type { ReportDocument } from '../../core/report/report-schema.ts';
import type { WorkSeen } from '../../core/report/window-talk.ts';
import { countInWords, exactSize, roundedSize } from '../../core/text/words.ts';
import { asFormat, asProve, asReturned, asVerify } from '../sheet/answers.ts';
import { Findings } from '../sheet/findings.tsx';
import { Stamp, WipeBand, Words } from '../sheet/marks.tsx';
import { AtThePanel } from '../sheet/stick-after.tsx';
import { ClearingPart } from './clearing-part.tsx';

/** What was found on a stick, or what became of it; before an agreement, what would. */
export function StickAnswer({ work: { kind, answer, proposal, targets } }: { work: WorkSeen }) {
  const shown = answer ?? proposal;
  if (shown === undefined) return null;
  const isPlan = answer === undefined;
  switch (kind) {
    case 'format':
      return <Formatted document={shown} isPlan={isPlan} />;
    case 'prove':
      return <Proved document={shown} isPlan={isPlan} />;
    case 'verify --returned':
      return <CameBack document={shown} target={targets[0] ?? ''} />;
    default:
      return <Verified document={shown} />;
  }
}

function Verified({ document }: { document: ReportDocument }) {
  const { verdict, findings, manifest, filesRead, bytesRead } = asVerify(document);
  return (
    <div>
      {verdict === null ? null : <Stamp verdict={verdict} />}
      {manifest === null ? null : <MadeFor manifest={manifest} />}
      {filesRead === 0 ? null : (
        <p>
          {countInWords(filesRead, 'file')}, {roundedSize(bytesRead)} read.
        </p>
      )}
      <Findings findings={findings} />
      {manifest === null || verdict === 'not-ready' ? null : <AtThePanel manifest={manifest} />}
    </div>
  );
}

function MadeFor({ manifest: { stick, label, archive, mode, keepsData } }: { manifest: Manifest }) {
  return (
    <>
      <p class="stick-code">
        Stick code <b>{stick}</b>, for <b>{label.text}</b>, {mode}: <Words>{archive.name}</Words>
      </p>
      {keepsData ? null : (
        <WipeBand>EVERYTHING ON THE PANEL IS WIPED. Only with approval, and after a backup.</WipeBand>
      )}
    </>
  );
}

function CameBack({ document, target }: { document: ReportDocument; target: string }) {
  const { findings, manifest, returned, noted, error } = asReturned(document);
  const { conclusion, clearing, kept } = returned;
  const { word, text } = conclusionWords[conclusion];
  return (
    <div>
      {manifest === null ? null : <MadeFor manifest={manifest} />}
      <Findings findings={findings} />
      <p role="status">
        <b>{word}</b>: {text}
      </p>
      {kept === null ? null : (
        <p>
          Kept: {countInWords(kept.files.length, 'file')} in <code>{kept.folder}</code>, read back.
        </p>
      )}
      <ClearingPart clearing={clearing} target={target} />
      {clearing.state === 'declined' || clearingWords[clearing.state] === '' ? null : (
        <p role="status">{clearingWords[clearing.state]}</p>
      )}
      {noted === undefined ? null : (
        <p role="status">
          Noted in the round <Words>{noted}</Words>.
        </p>
      )}
      {error === undefined ? null : (
        <p class="notice">
          Not noted in its round: {error.message} {error.todo}
        </p>
      )}
    </div>
  );
}

function Losses({ lines }: { lines: readonly string[] }) {
  return (
    <>
      <p>
        <b>To be lost</b>
      </p>
      <ul>
        {lines.map((line) => (
          <li key={line}>
            <Words>{line}</Words>
          </li>
        ))}
      </ul>
    </>
  );
}

const formatWords = {
  formatted: 'Formatted, and read back. Pull it and plug it in again before you go on.',
  refused: 'Nothing was written: what was found stops it.',
  declined: 'Nothing was written: you said no.',
  unfinished: 'Stopped before it was done: what was on it is gone, and it is not formatted. Format it again.',
};

function Formatted({ document, isPlan }: { document: ReportDocument; isPlan: boolean }) {
  const { state, losses, plan, findings, medium } = asFormat(document);
  return (
    <div>
      {isPlan ? (
        <>
          <p>
            <Words>{medium.target}</Words>, {exactSize(medium.bytes)}
          </p>
          <Losses lines={lossesInWords(losses)} />
          <p>
            <b>To be made:</b> {planInWords(plan)}
            {plan.volumeLabel === undefined ? '' : `, named ${plan.volumeLabel}`}
          </p>
        </>
      ) : (
        <p role="status">{formatWords[state]}</p>
      )}
      <Findings findings={findings} />
    </div>
  );
}

function Proved({ document, isPlan }: { document: ReportDocument; isPlan: boolean }) {
  const { losses, proof, findings, medium, verdict } = asProve(document);
  if (isPlan)
    return losses === null || medium === null ? null : (
      <div>
        <p>
          <Words>{medium.target}</Words>, {exactSize(medium.bytes)}
        </p>
        <Losses lines={lossesInWords(losses)} />
      </div>
    );
  if (proof === null) return <p role="status">Nothing was written.</p>;
  const isWhole = proof.finished && proof.how === 'whole' && verdict === 'ready';
  const speed = (bytes: number | undefined): string => (bytes === undefined ? 'unknown' : `${roundedSize(bytes)}/s`);
  return (
    <div>
      <p role="status">
        {exactSize(proof.testedBytes)} of {exactSize(proof.statedBytes)} written and read back; writes{' '}
        {speed(proof.writeBytesPerSecond)}, reads {speed(proof.readBytesPerSecond)}.
      </p>
      {isWhole ? <p class="said-yes">✓ The stick holds all of its {exactSize(proof.statedBytes)}.</p> : null}
      {proof.how === 'free-space' ? null : <p>Nothing is on it now: format it before use.</p>}
      <Findings findings={findings} />
    </div>
  );
}
