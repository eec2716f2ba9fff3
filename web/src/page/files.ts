// Files that are dropped: a folder is walked, and what belongs to no case is left out.
const mesh = /\.(stl|ply|obj|3mf)$/i;
const text = /\.(ya?ml|csv|txt)$/i;
const mostText = 8 << 20; // bytes

/** caseFile is the name of the description in a case folder. */
export const caseFile = "case.yaml";

const paths = new WeakMap<File, string>();

/** pathOf is where a file lies in what was dropped or chosen. */
export const pathOf = (f: File): string => (paths.get(f) ?? (f.webkitRelativePath || f.name)).replace(/^\//, "");

/** meshFiles keeps the mesh files of a list. */
export function meshFiles(files: Iterable<File>): File[] {
  return [...files].filter((f) => mesh.test(f.name));
}

/** caseFiles keeps the mesh files, and the texts that may describe them. */
export function caseFiles(files: Iterable<File>): File[] {
  return [...files].filter((f) => mesh.test(f.name) || (text.test(f.name) && f.size < mostText));
}

/** dropped gathers the files of a drop, those within folders too. */
export async function dropped(d: DataTransfer): Promise<File[]> {
  const entries = [...d.items].map((i) => i.webkitGetAsEntry?.()).filter((e): e is FileSystemEntry => !!e);
  if (entries.length === 0) return caseFiles(d.files);
  return caseFiles((await Promise.all(entries.map(walk))).flat());
}

async function walk(e: FileSystemEntry): Promise<File[]> {
  if (e.isFile) {
    const f = await new Promise<File>((ok, no) => (e as FileSystemFileEntry).file(ok, no));
    paths.set(f, e.fullPath);
    return [f];
  }
  const reader = (e as FileSystemDirectoryEntry).createReader();
  const out: FileSystemEntry[] = [];
  for (;;) {
    const some = await new Promise<FileSystemEntry[]>((ok, no) => reader.readEntries(ok, no));
    if (some.length === 0) break;
    out.push(...some);
  }
  return (await Promise.all(out.map(walk))).flat();
}
