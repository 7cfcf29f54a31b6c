// Whoever signs in next on this device must not find the pages and frames that another was shown.
// Entries that still wait in the outbox stay: each is sent only under the account that made it.
if ("caches" in self) for (const name of ["pages", "frames"]) caches.delete(name);
