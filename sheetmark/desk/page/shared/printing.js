// Opening the print dialog with a PDF, which knows its own size, instead of with the page.

import { element } from "./elements.js";

/** @type {HTMLIFrameElement | null} the PDF printed last: gone, it would take the dialog with it */
let latest = null;

/**
 * @returns {boolean} whether this browser can show a PDF within this page, and so print it: a page
 *   that was opened as a file may not reach what it shows
 */
export function printsPdf() {
  return navigator.pdfViewerEnabled === true && location.protocol !== "file:";
}

/**
 * Opens the print dialog with a PDF.
 * @param {Blob} pdf
 * @returns {Promise<boolean>} false where the browser refuses, so that the PDF is to be opened
 */
export async function printPdf(pdf) {
  if (latest) {
    URL.revokeObjectURL(latest.src);
    latest.remove();
  }
  const frame = element("iframe", {
    class: "print-frame",
    title: "The PDF that is printed",
    tabindex: -1,
    src: URL.createObjectURL(pdf),
  });
  latest = frame;
  const loaded = new Promise((go) => {
    frame.addEventListener("load", go, { once: true });
  });
  document.body.append(frame);
  await loaded;
  try {
    frame.contentWindow?.print();
    return frame.contentWindow !== null;
  } catch {
    return false;
  }
}
