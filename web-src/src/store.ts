// What the phone keeps for the page: what waits to be sent, and the last of each page. Where there is no IndexedDB nothing
// outlives the page, and everything works all the same.

import { openDB, type IDBPDatabase } from "idb";

let opening: Promise<IDBPDatabase | null> | null = null;

export function phoneStore(): Promise<IDBPDatabase | null> {
  opening ??= openDB("pitreckon", 2, {
    upgrade(db, before) {
      if (before < 1) db.createObjectStore("outbox", { keyPath: "n", autoIncrement: true });
      if (before < 2) db.createObjectStore("pages");
    },
  }).catch(() => null);
  return opening;
}
