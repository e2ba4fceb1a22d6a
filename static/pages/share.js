// Shows the button of the phone's own share sheet where the phone has one. The links beside it do the same without.
for (const button of document.querySelectorAll('[data-share]')) {
  const { share: text, title, address: url } = button.dataset
  if (!navigator.share || (navigator.canShare && !navigator.canShare({ title, text, url }))) continue
  button.hidden = false
  button.addEventListener('click', async () => {
    try {
      await navigator.share({ title, text, url })
    } catch (refused) {
      // Somebody thought better of it; any other trouble leaves the links.
      if (refused.name !== 'AbortError') button.hidden = true
    }
  })
}
