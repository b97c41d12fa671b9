import { command } from '../frame/command.ts';
import { UsageError } from '../frame/exit-codes.ts';

export const explain = command({
  words: (it) =>
    it
      .description('Explains one code, or lists the codes of an area, or all.')
      .argument('[code]', 'a code such as stick/dirty, or an area such as stick'),
  examples: ['stickwright explain', 'stickwright explain stick', 'stickwright explain stick/dirty'],
  codes: '',
  run: async (asked) => {
    const { catalogue, isFindingCode } = await import('../../core/findings/catalogue.ts');
    const { isToolErrorCode, toolErrorMeanings } = await import('../../core/model/tool-error.ts');
    if (asked === undefined) return { verdict: 'ready' as const };
    // As it is copied from a screen: in its brackets, with a full stop, in capitals.
    const word = asked.toLowerCase().replace(/^[\s["'(]+|[\s\]"').,:/]+$/g, '');
    if (isFindingCode(word)) return { verdict: 'ready' as const, code: word };
    if (isToolErrorCode(word)) return { verdict: 'ready' as const, error: word };
    const codes = [...Object.keys(catalogue), ...Object.keys(toolErrorMeanings)];
    const areas = [...new Set(codes.map((code) => code.split('/')[0] ?? ''))];
    if (areas.includes(word)) return { verdict: 'ready' as const, area: word };
    const { didYouMean, nearestWords } = await import('../../core/text/nearest.ts');
    const afterSlash = codes.filter((code) => code.split('/')[1] === word);
    const meant = afterSlash.length > 0 ? afterSlash.slice(0, 3) : nearestWords(word, [...areas, ...codes]);
    throw new UsageError(
      `There is no code or area "${asked}".${didYouMean(meant)}`,
      `The areas are ${areas.toSorted().join(', ')}. All codes: \`stickwright explain\`.`,
    );
  },
  text: async ({ code, error, area }, look) => {
    const { renderAllCodes, renderErrorMeaning, renderExplanation } = await import(
      '../../render/text/render-findings.ts'
    );
    if (code !== undefined) return renderExplanation(code, look);
    return error !== undefined ? renderErrorMeaning(error, look) : renderAllCodes(area, look);
  },
});
