// Tells the worker of /m/ who is signed in, from every page outside /m/. A phone keeps one person's sheets at a time:
// when somebody else or nobody is signed in, the kept sheets go. What waits in the outbox stays.
(async () => {
  "use strict";
  const { content, dataset } = document.querySelector('meta[name="hardstand-user"]');
  const found = await navigator.serviceWorker?.getRegistration(dataset.day);
  found?.active?.postMessage({ user: content });
})();
