/** Findings of the area `update/`. */
export const updateFindings = {};
