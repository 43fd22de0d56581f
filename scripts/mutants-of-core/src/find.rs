//! Where a fault can be put, and which: walks the syntax tree of every file of the core.
//!
//! A place is a range of bytes; a mutant is the text that stands there instead. Tests are left out.

use crate::KEEP_CONST;
use proc_macro2::Span;
use std::{fs, ops::Range, path::Path};
use syn::{BinOp, Expr, ReturnType, Type, UnOp, spanned::Spanned, visit::Visit};

/// What is done to a place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum How {
    /// The expression there is another one.
    Instead(String),
    /// The function begins by returning this.
    Returns(String),
    /// The guard or condition is always so.
    Always(bool),
    /// The arm is passed over: the guard is put in here, before the arrow.
    Skip,
}

/// One fault.
#[derive(Clone, Debug)]
pub struct Mutant {
    /// Number, by which it is switched on.
    pub id: u32,
    /// Its file, relative to `core/src`.
    pub file: String,
    /// Its place.
    pub at: Range<usize>,
    /// What is done.
    pub how: How,
    /// Line and words for the list.
    pub told: String,
}

/// All sources of the core, without files of tests.
pub fn files(src: &Path) -> Result<Vec<(String, String)>, String> {
    let mut found = Vec::new();
    let mut open = vec![src.to_path_buf()];
    while let Some(dir) = open.pop() {
        for entry in fs::read_dir(&dir).map_err(|e| format!("{}: {e}", dir.display()))? {
            let path = entry.map_err(|e| e.to_string())?.path();
            if path.is_dir() {
                open.push(path);
            } else if path.extension().is_some_and(|e| e == "rs") && !path.ends_with("tests.rs") {
                let text = fs::read_to_string(&path).map_err(|e| e.to_string())?;
                let name = path.strip_prefix(src).map_err(|e| e.to_string())?;
                found.push((name.to_string_lossy().into_owned(), text));
            }
        }
    }
    found.sort();
    Ok(found)
}

/// Adds the mutants of one file.
pub fn mutants(file: &str, text: &str, out: &mut Vec<Mutant>) -> Result<(), String> {
    let tree = syn::parse_file(text).map_err(|e| format!("{file}: {e}"))?;
    let keep_const = KEEP_CONST.contains(&file);
    Finder { file, text, out, keep_const, name: Vec::new() }.visit_file(&tree);
    Ok(())
}

/// True for a file whose `const fn` become plain ones in the copy.
pub fn strips_const(file: &str) -> bool {
    !KEEP_CONST.contains(&file)
}

struct Finder<'a> {
    file: &'a str,
    text: &'a str,
    out: &'a mut Vec<Mutant>,
    keep_const: bool,
    name: Vec<String>,
}

impl Finder<'_> {
    fn put(&mut self, at: Range<usize>, line: usize, how: How, words: &str) {
        let id = self.out.len() as u32 + 1;
        let name = self.name.join("::");
        let told = format!("{}:{line}: {words} in {name}", self.file);
        self.out.push(Mutant { id, file: self.file.to_owned(), at, how, told });
    }

    fn instead(&mut self, whole: Span, part: Span, with: &str) {
        let (at, p) = (whole.byte_range(), part.byte_range());
        let text = format!("{}{with}{}", &self.text[at.start..p.start], &self.text[p.end..at.end]);
        let words = format!("{} -> {with}", &self.text[p]);
        self.put(at, part.start().line, How::Instead(text), &words);
    }

    fn condition(&mut self, cond: &Expr) {
        if has_let(cond) {
            return;
        }
        let line = cond.span().start().line;
        for b in [true, false] {
            let words = format!("{} -> {b}", one_line(&self.text[cond.span().byte_range()]));
            self.put(cond.span().byte_range(), line, How::Always(b), &words);
        }
    }

    fn function(&mut self, sig: &syn::Signature, block: &syn::Block) {
        if sig.constness.is_some() && self.keep_const {
            return;
        }
        self.name.push(sig.ident.to_string());
        for with in instead_of(&sig.output) {
            let line = sig.ident.span().start().line;
            let words = if with.is_empty() { "does nothing".to_owned() } else { format!("returns {with}") };
            self.put(block.span().byte_range(), line, How::Returns(with), &words);
        }
        syn::visit::visit_block(self, block);
        self.name.pop();
    }
}

fn one_line(text: &str) -> String {
    let words: Vec<&str> = text.split_whitespace().collect();
    let s = words.join(" ");
    if s.chars().count() > 60 { s.chars().take(57).chain("...".chars()).collect() } else { s }
}

fn has_let(e: &Expr) -> bool {
    struct Seen(bool);
    impl<'a> Visit<'a> for Seen {
        fn visit_expr_let(&mut self, _: &'a syn::ExprLet) {
            self.0 = true;
        }
    }
    let mut s = Seen(false);
    s.visit_expr(e);
    s.0
}

fn instead_of(output: &ReturnType) -> Vec<String> {
    let one = |s: &[&str]| s.iter().map(|s| (*s).to_owned()).collect();
    let ReturnType::Type(_, t) = output else { return one(&[""]) };
    let Type::Path(p) = &**t else { return Vec::new() };
    let Some(last) = p.path.segments.last() else { return Vec::new() };
    match last.ident.to_string().as_str() {
        "bool" => one(&["true", "false"]),
        "u8" | "u16" | "u32" | "u64" | "usize" | "i16" | "i32" | "i64" => one(&["0", "1"]),
        "Option" => one(&["None"]),
        _ => one(&["Default::default()"]),
    }
}

fn binary(op: &BinOp) -> &'static [&'static str] {
    match op {
        BinOp::Eq(_) => &["!="],
        BinOp::Ne(_) => &["=="],
        BinOp::Lt(_) => &["<=", ">"],
        BinOp::Le(_) => &["<", ">"],
        BinOp::Gt(_) => &[">=", "<"],
        BinOp::Ge(_) => &[">", "<"],
        BinOp::And(_) => &["||"],
        BinOp::Or(_) => &["&&"],
        BinOp::Add(_) => &["-"],
        BinOp::Sub(_) => &["+"],
        BinOp::Mul(_) => &["+"],
        BinOp::Div(_) | BinOp::Rem(_) => &["*"],
        BinOp::BitAnd(_) => &["|"],
        BinOp::BitOr(_) => &["&"],
        BinOp::BitXor(_) => &["|"],
        BinOp::Shl(_) => &[">>"],
        BinOp::Shr(_) => &["<<"],
        BinOp::AddAssign(_) => &["-="],
        BinOp::SubAssign(_) => &["+="],
        BinOp::BitAndAssign(_) => &["|="],
        BinOp::BitOrAssign(_) => &["&="],
        BinOp::ShrAssign(_) => &["<<="],
        BinOp::ShlAssign(_) => &[">>="],
        _ => &[],
    }
}

/// The core reckons with methods: their opposites matter as much as operators.
fn method(name: &str) -> Option<&'static str> {
    Some(match name {
        "saturating_add" => "saturating_sub",
        "saturating_sub" => "saturating_add",
        "saturating_mul" => "saturating_add",
        "wrapping_add" => "wrapping_sub",
        "wrapping_sub" => "wrapping_add",
        "checked_div" => "checked_mul",
        "checked_rem" => "checked_div",
        "plus" => "minus",
        "minus" => "plus",
        "max" => "min",
        "min" => "max",
        "any" => "all",
        "all" => "any",
        "is_some" => "is_none",
        "is_none" => "is_some",
        "is_some_and" => "is_none_or",
        "is_none_or" => "is_some_and",
        "or" => "and",
        "and" => "or",
        "without" => "or",
        "first" => "last",
        "last" => "first",
        "take_while" => "skip_while",
        _ => return None,
    })
}

fn is_test(attrs: &[syn::Attribute]) -> bool {
    attrs.iter().any(|a| {
        a.path().is_ident("test")
            || (a.path().is_ident("cfg") && a.parse_args::<syn::Ident>().is_ok_and(|i| i == "test"))
    })
}

impl<'a> Visit<'a> for Finder<'_> {
    fn visit_item_mod(&mut self, m: &'a syn::ItemMod) {
        if !is_test(&m.attrs) {
            syn::visit::visit_item_mod(self, m);
        }
    }
    fn visit_item_macro(&mut self, _: &'a syn::ItemMacro) {}
    fn visit_item_const(&mut self, _: &'a syn::ItemConst) {}
    fn visit_impl_item_const(&mut self, _: &'a syn::ImplItemConst) {}
    fn visit_item_static(&mut self, _: &'a syn::ItemStatic) {}
    fn visit_type(&mut self, _: &'a Type) {}
    fn visit_pat(&mut self, _: &'a syn::Pat) {}
    fn visit_item_impl(&mut self, i: &'a syn::ItemImpl) {
        let name = match &*i.self_ty {
            Type::Path(p) => p.path.segments.last().map(|s| s.ident.to_string()).unwrap_or_default(),
            _ => String::new(),
        };
        self.name.push(name);
        syn::visit::visit_item_impl(self, i);
        self.name.pop();
    }
    fn visit_item_fn(&mut self, f: &'a syn::ItemFn) {
        if !is_test(&f.attrs) {
            self.function(&f.sig, &f.block);
        }
    }
    fn visit_impl_item_fn(&mut self, f: &'a syn::ImplItemFn) {
        if !is_test(&f.attrs) {
            self.function(&f.sig, &f.block);
        }
    }
    fn visit_expr_binary(&mut self, e: &'a syn::ExprBinary) {
        if !has_let(&Expr::Binary(e.clone())) {
            for with in binary(&e.op) {
                self.instead(e.span(), e.op.span(), with);
            }
        }
        syn::visit::visit_expr_binary(self, e);
    }
    fn visit_expr_unary(&mut self, e: &'a syn::ExprUnary) {
        if matches!(e.op, UnOp::Not(_) | UnOp::Neg(_)) {
            self.instead(e.span(), e.op.span(), "");
        }
        syn::visit::visit_expr_unary(self, e);
    }
    fn visit_expr_method_call(&mut self, e: &'a syn::ExprMethodCall) {
        if let Some(with) = method(&e.method.to_string()) {
            self.instead(e.span(), e.method.span(), with);
        }
        syn::visit::visit_expr_method_call(self, e);
    }
    fn visit_expr_macro(&mut self, e: &'a syn::ExprMacro) {
        if e.mac.path.is_ident("matches") {
            let start = e.span().byte_range().start;
            let at = e.span().byte_range();
            let text = format!("!{}", &self.text[at.clone()]);
            debug_assert_eq!(at.start, start);
            self.put(at, e.span().start().line, How::Instead(text), "matches! -> !matches!");
        }
    }
    fn visit_expr_if(&mut self, e: &'a syn::ExprIf) {
        self.condition(&e.cond);
        syn::visit::visit_expr_if(self, e);
    }
    fn visit_expr_match(&mut self, e: &'a syn::ExprMatch) {
        let rest = e.arms.last().is_some_and(|a| matches!(a.pat, syn::Pat::Wild(_)) && a.guard.is_none());
        for (i, arm) in e.arms.iter().enumerate() {
            match &arm.guard {
                Some((_, guard)) => self.condition(guard),
                None if rest && i + 1 < e.arms.len() => {
                    let at = arm.fat_arrow_token.span().byte_range().start;
                    let words = format!("arm {} passed over", one_line(&self.text[arm.pat.span().byte_range()]));
                    self.put(at..at, arm.pat.span().start().line, How::Skip, &words);
                }
                None => {}
            }
        }
        syn::visit::visit_expr_match(self, e);
    }
}
