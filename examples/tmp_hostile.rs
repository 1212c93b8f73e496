//! t
fn main(){ let mut fs:Vec<_>=std::fs::read_dir("/tmp/m21/h").unwrap().map(|e|e.unwrap().path()).collect(); fs.sort();
 for p in fs { let b=std::fs::read(&p).unwrap(); let t=std::time::Instant::now(); let r=overshell::sheet::read(&b,&Default::default()); let d=t.elapsed(); println!("{:?} {:?} {}",p.file_name().unwrap(), d, match r { Ok(r)=>format!("ok {} findings {} bars",r.findings.len(), r.sheet.bars.len()), Err(e)=>e.to_string()}); } }
