fn main() {
    println!("hello, world");
}
