//! Reads JSON lines and prints interpretations (development only).
use floatbowl::knowledge::phrase::{PhraseFile, Phrases};
use floatbowl::language::{Line, Report, interpret};
use std::io::BufRead;
fn main() {
    let files: Vec<PhraseFile> = std::fs::read_dir("knowledge/phrases/en").unwrap().map(|e| e.unwrap().path()).map(|p| PhraseFile{text: std::fs::read_to_string(&p).unwrap(), path: p.display().to_string()}).collect();
    let phrases = match Phrases::compile(&files, &[]) { Ok(p)=>p, Err(e)=>{ for p in e {println!("{}: {}", p.file, p.what)}; return } };
    for line in std::io::stdin().lock().lines() {
        let line = line.unwrap();
        let l = Line::parse(&line).unwrap();
        let r = serde_json::to_value(Report::from(&interpret(&l.text, &l.context(), &phrases))).unwrap();
        let mut s = String::new();
        for (k,v) in r.as_object().unwrap() { if !(v.is_null() || v.as_array().is_some_and(|a| a.is_empty())) { s += &format!(" {k}={v}"); } }
        println!("{}\n   {}", l.text, s);
    }
}
