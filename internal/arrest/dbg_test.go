package arrest
import ("testing";"fmt";"pgregory.net/rapid";"os")
func dbgRun(c *Case, tol float64, n int) string {
	var m machine
	m.compile(c,Options{Tolerance:tol}); m.order=n; m.reset(); m.probe=sampler{}
	if err:=m.settle();err!=nil {return "first settle "+err.Error()}
	z:=0
	for m.t<m.until && !m.done {
		t0,ph:=m.t,m.phase
		var desc string
		for i:=range m.links{l:=&m.links[i]; desc+=fmt.Sprintf("[k%d p%g st%d g%d virg%v u%.9g u1 %.4g] ",l.kind,l.power,l.state,l.grip,l.virgin,l.u[0],l.u[1])}
		d,err:=m.step(m.until)
		if err==nil {err=m.balance()}
		if d==0 {z++}else{z=0}
		if err!=nil||z>50{
			s:=fmt.Sprintln(t0,d,ph,desc,"den",m.den,"pivot",m.pivot,"f",m.f[0],m.f[1],err)
			for i:=range m.links{l:=&m.links[i]; s+=fmt.Sprintf("[k%d p%g st%d g%d virg%v u%.9g u1 %.4g ku %g thr %g shift%g] ",l.kind,l.power,l.state,l.grip,l.virgin,l.u[0],l.u[1],l.ku,l.threshold(),l.shift)}
			for _,w:=range m.list{s+=fmt.Sprint(w.kind,"/",w.link,":",m.margin(w,0)," ")}
			return s
		}
	}
	return ""
}
func TestDbg(t *testing.T){
	rapid.Check(t, func(t *rapid.T) {
	c := anyCase(t)
	s:=dbgRun(c,1e-12,20)+dbgRun(c,1e-7,16)
	if s!="" { os.WriteFile("/tmp/dbg.txt",[]byte(s),0o644); t.Fatal("x")}
	})
}
