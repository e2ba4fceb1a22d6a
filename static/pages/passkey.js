// Joins the buttons of the sign-in pages to the passkey code of the sign-in library, which wants their ids.
// <div data-passkey="addForm" data-add="..." data-credential="...">: the first names the form, the rest are ids.
for (const mark of document.querySelectorAll('[data-passkey]')) {
  const { passkey, ...ids } = mark.dataset
  window.allauth.webauthn.forms[passkey]({ ids })
}
