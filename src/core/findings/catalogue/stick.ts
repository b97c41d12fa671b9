/** Findings of the area `stick/`. */
export const stickFindings = {};
