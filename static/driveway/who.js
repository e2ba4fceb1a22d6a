// Tells the worker of /m/ who is signed in (see dropOthers in worker.js).
navigator.serviceWorker?.getRegistration("/m/").then((found) => {
  found?.active?.postMessage({ user: document.querySelector('meta[name="hardstand-user"]').content });
});
