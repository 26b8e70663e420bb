/** Which texts of the catalogue nothing says: the compiler is asked what pages and parts read of it. */
import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { join, resolve } from 'node:path';
import ts from 'typescript';

// Its map of sources is not in its package, which the test runner would complain of.
const { svelte2tsx } = createRequire(import.meta.url)('svelte2tsx') as typeof import('svelte2tsx');

const SOURCES = resolve(import.meta.dirname, '../src');
const SHIMS = ['svelte-shims-v4.d.ts', 'svelte-jsx-v4.d.ts'].map((name) => resolve(import.meta.dirname, '../node_modules/svelte2tsx', name));
const OPTIONS: ts.CompilerOptions = {
  target: ts.ScriptTarget.ES2022, module: ts.ModuleKind.ESNext, moduleResolution: ts.ModuleResolutionKind.Bundler, strict: true, skipLibCheck: true, noEmit: true,
  jsx: ts.JsxEmit.Preserve, lib: ['lib.es2023.d.ts', 'lib.dom.d.ts', 'lib.dom.iterable.d.ts'], types: ['svelte'],
};
/** A component as the compiler sees it is its file with this behind its name. */
const AS_CODE = '.tsx';

/** All pages and parts; `changed` are sources that stand in for those on the disk, by their path below `src`. */
export function programOf(changed: Readonly<Record<string, string>> = {}): ts.Program {
  const files = readdirSync(SOURCES, { recursive: true, encoding: 'utf8' }).filter((file) => /\.(ts|svelte)$/.test(file) && !file.startsWith('sw/'));
  const names = files.map((file) => join(SOURCES, file.endsWith('.svelte') ? file + AS_CODE : file));
  return ts.createProgram([...names, ...SHIMS], OPTIONS, hostOf(changed));
}

function hostOf(changed: Readonly<Record<string, string>>): ts.CompilerHost {
  const host = ts.createCompilerHost(OPTIONS);
  const read = (file: string): string | undefined => (isComponent(file) ? codeOf(file.slice(0, -AS_CODE.length)) : ts.sys.readFile(file));
  const resolved = (name: string, from: string): ts.ResolvedModuleWithFailedLookupLocations => {
    const component = join(from, '..', name + AS_CODE);
    return isComponent(component) ? { resolvedModule: { resolvedFileName: component, extension: ts.Extension.Tsx } } : ts.resolveModuleName(name, from, OPTIONS, host);
  };
  host.fileExists = (file) => isComponent(file) || ts.sys.fileExists(file);
  host.readFile = (file) => changed[file.slice(SOURCES.length + 1)] ?? read(file);
  host.resolveModuleNameLiterals = (names, from) => names.map(({ text }) => resolved(text, from));
  return host;
}

function isComponent(file: string): boolean {
  return file.endsWith(`.svelte${AS_CODE}`) && existsSync(file.slice(0, -AS_CODE.length));
}

function codeOf(component: string): string {
  return svelte2tsx(readFileSync(component, 'utf8'), { filename: component, isTsFile: true, mode: 'ts', version: '5.0.0' }).code;
}

/** The texts that nothing says, each with its file, line and name. */
export function unusedTexts(program: ts.Program): string[] {
  const files = program.getSourceFiles().filter((file) => file.fileName.startsWith(SOURCES));
  const readings = new Readings(program.getTypeChecker());
  files.forEach((file) => readings.note(file));
  const texts = files.filter((file) => file.fileName.startsWith(join(SOURCES, 'texts/en')));
  return texts.flatMap((file) => textsIn(file).filter((text) => !readings.isRead(text)).map((text) => placeOf(text, file)));
}

function textsIn(node: ts.Node): ts.PropertyAssignment[] {
  if (ts.isPropertyAssignment(node) && !ts.isObjectLiteralExpression(bare(node.initializer))) return [node];
  const found: ts.PropertyAssignment[] = [];
  ts.forEachChild(node, (child) => void found.push(...textsIn(child)));
  return found;
}

function placeOf(text: ts.PropertyAssignment, file: ts.SourceFile): string {
  const { line } = file.getLineAndCharacterOfPosition(text.getStart());
  return `${file.fileName.slice(SOURCES.length + 1)}:${line + 1} ${text.name.getText()}`;
}

/** An expression without what it is taken `as`. */
function bare(node: ts.Expression): ts.Expression {
  return ts.isAsExpression(node) ? bare(node.expression) : node;
}

/** What is read of objects, and what is handed on as what: `words.title` of a part may be any page's title. */
class Readings {
  private readonly read = new Set<ts.Declaration>();
  private readonly handedOn = new Map<ts.Declaration, Set<ts.Declaration>>();
  private readonly compared = new Map<ts.Type, Set<ts.Type>>();

  constructor(private readonly checker: ts.TypeChecker) {}

  /** Whether anything reads what is declared there, or what it is handed on as. */
  isRead(declaration: ts.Declaration, passed = new Set<ts.Declaration>()): boolean {
    if (passed.has(declaration)) return false;
    passed.add(declaration);
    return this.read.has(declaration) || [...(this.handedOn.get(declaration) ?? [])].some((next) => this.isRead(next, passed));
  }

  /** Go through a file, and note what it reads. */
  note(node: ts.Node): void {
    if (ts.isPropertyAccessExpression(node)) this.mark(this.checker.getSymbolAtLocation(node.name));
    if (ts.isElementAccessExpression(node)) this.indexed(node);
    if (ts.isBindingElement(node) && ts.isObjectBindingPattern(node.parent)) this.taken(node, node.parent);
    if (ts.isCallExpression(node) && /^Object\.(keys|values|entries)$/.test(node.expression.getText())) node.arguments.forEach((one) => this.markAll(one));
    if (ts.isConditionalExpression(node)) [node.whenTrue, node.whenFalse].forEach((one) => this.hand(one, this.typeOf(node)));
    if (ts.isExpression(node)) this.hand(bare(node), this.wantedOf(node));
    ts.forEachChild(node, (child) => this.note(child));
  }

  private typeOf(node: ts.Node): ts.Type {
    return this.checker.getTypeAtLocation(node);
  }

  private mark(symbol: ts.Symbol | undefined): void {
    symbol?.declarations?.forEach((declaration) => this.read.add(declaration));
  }

  private markAll(node: ts.Node): void {
    this.typeOf(node).getProperties().forEach((property) => this.mark(property));
  }

  private indexed({ expression, argumentExpression: name }: ts.ElementAccessExpression): void {
    if (ts.isStringLiteralLike(name)) this.mark(this.typeOf(expression).getProperty(name.text));
    else this.markAll(expression);
  }

  private taken({ propertyName, name, dotDotDotToken }: ts.BindingElement, pattern: ts.ObjectBindingPattern): void {
    if (dotDotDotToken) this.markAll(pattern);
    else this.mark(this.typeOf(pattern).getProperty((propertyName ?? name).getText()));
  }

  /** As what an expression is wanted where it stands. */
  private wantedOf(node: ts.Expression): ts.Type | undefined {
    if (ts.isAsExpression(node)) return this.typeOf(node);
    return this.checker.getContextualType(ts.isSpreadAssignment(node.parent) ? node.parent.parent : node);
  }

  private hand(node: ts.Expression, wanted: ts.Type | undefined): void {
    if (wanted) this.compare(this.typeOf(node), wanted);
  }

  /** Of an object that is wanted as another, what bears the same name is handed on; of one with an index, all is read. */
  private compare(given: ts.Type, wanted: ts.Type): void {
    if (given === wanted || !(given.flags & ts.TypeFlags.Object) || this.compared.get(given)?.has(wanted)) return;
    this.compared.set(given, (this.compared.get(given) ?? new Set()).add(wanted));
    if (wanted.isUnion()) return wanted.types.forEach((one) => this.compare(given, one));
    const index = wanted.getStringIndexType();
    for (const property of given.getProperties()) {
      const same = wanted.getProperty(property.name);
      const type = same ? this.checker.getTypeOfSymbol(same) : index;
      if (!type) continue;
      this.link(property, same);
      this.compare(this.checker.getTypeOfSymbol(property), type);
    }
  }

  private link(given: ts.Symbol, wanted: ts.Symbol | undefined): void {
    // An index or a mapped type declares nothing: it stands for whatever is asked of it.
    if (!wanted?.declarations?.length) return this.mark(given);
    for (const from of given.declarations ?? []) {
      for (const to of wanted.declarations) this.handedOn.set(from, (this.handedOn.get(from) ?? new Set()).add(to));
    }
  }
}
