package plan
import ("testing";"fmt";"syscall")
func cpu() float64 { var r syscall.Rusage; syscall.Getrusage(0,&r); return float64(r.Utime.Sec)+float64(r.Utime.Usec)/1e6 }
func TestZZ(t *testing.T){
 in := demo(t,"job.yaml"); in.lean=true; in = in.remember()
 c0 := cpu(); base,_ := makeOnce(in); fmt.Println("base",cpu()-c0)
 o,_ := alternatives(in,base)
 for _, x := range o { c0 = cpu(); a,_ := x.plan(in); fmt.Printf("%.2f %s %v %v\n",cpu()-c0,a.What,a.Ready,a.Proven) }
}
