// What is asked of a person or firm, wherever on the page one is written down; the rest under "More about it".
export const PARTY_FIELDS = ["name", "role", "licence", "licence_expires_on"];
export const PARTY_MORE = ["lead_days", "price_fixed", "price_each"];
