/** Findings of the area `fit/`. */
export const fitFindings = {};
