// A little help on every page. Without it everything but photographing works all the same.
"use strict";

// The key has done its work: it is not left in the address, where a screenshot or the history would show it.
if (location.search.includes("key=")) history.replaceState(null, "", location.pathname);
