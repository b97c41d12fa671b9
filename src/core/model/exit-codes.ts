/** What a verdict ends a command with, and what stands in its document wherever that was made; scripts rest on them. */
export const exitCodesOfVerdicts = { ready: 0, 'not-ready': 1, unproven: 4 } as const;

export const exitCodeOf = (verdict: keyof typeof exitCodesOfVerdicts): number => exitCodesOfVerdicts[verdict];
