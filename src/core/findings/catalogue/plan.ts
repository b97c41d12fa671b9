/** Findings of the area `plan/`. */
export const planFindings = {};
